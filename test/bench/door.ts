/** The library as it ships (npm run build): what tsx makes of the sources, names kept on every function, is slower. */
const built = 'steelyard';
export const door = (await import(built)) as typeof import('../../lib/index.ts');
