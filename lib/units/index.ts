export * from './constants.ts';
export * from './convert.ts';
export * from './crops.ts';
export * from './display.ts';
export * from './dry.ts';
