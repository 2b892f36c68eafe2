/** The project's version, as in package.json (a test checks that they are equal), since the library reads no files. */
export const VERSION = '0.1.0';
