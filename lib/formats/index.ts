export { readSources } from './open.ts';
export * from './table.ts';
export { readText } from './text/read.ts';
export { unzip } from './zip/unpack.ts';
