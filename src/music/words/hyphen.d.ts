/** One language of the hyphen library, as an ES module sees it. */
declare module 'hyphen/*' {
  const language: {
    hyphenateSync(text: string, options?: { hyphenChar?: string; minWordLength?: number }): string;
  };
  export default language;
}
