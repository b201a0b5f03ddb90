/** One language of the hyphen library, typed as an ES module. */
declare module 'hyphen/*' {
  const language: {
    hyphenateSync(text: string, options?: { hyphenChar?: string; minWordLength?: number }): string;
  };
  export default language;
}
