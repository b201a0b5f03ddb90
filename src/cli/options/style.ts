import { Option } from 'commander';

/** The option for the style of tab. @param of  what is written that way, such as `the tab` */
export function styleOption(of: string): Option {
  return new Option('--style, --tab-style <style>', `style of ${of}`)
    .choices(['signs', 'letters', 'arrows'])
    .default('signs');
}
