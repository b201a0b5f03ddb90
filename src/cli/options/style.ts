import { Option } from 'commander';

/** How tab is written. @param of  what is written so, such as `the tab` */
export function styleOption(of: string): Option {
  return new Option('--style, --tab-style <style>', `style of ${of}`)
    .choices(['signs', 'letters', 'arrows'])
    .default('signs');
}
