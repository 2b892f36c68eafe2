export * from './constants.ts';
export * from './convert.ts';
export * from './crops.ts';
export * from './display.ts';
export * from './dry.ts';
export * from './flags.ts';
export * from './sentences.ts';
export * from './times.ts';
