export * from './raw-table.ts';
export { readSources } from './read-sources.ts';
export { readText } from './text/read.ts';
export { unzip } from './zip/unpack.ts';
