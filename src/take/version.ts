/** The version that this program writes; it reads no newer one. */
export const TAKE_VERSION = 1;
