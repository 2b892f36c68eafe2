/** The project's version, as in package.json (a test holds the two equal): the library itself reads no files. */
export const VERSION = '0.1.0';
