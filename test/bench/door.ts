/** The library as it ships (npm run build): what tsx makes of the sources, names kept on every function, is slower. */
const built = 'steelyard';
export const door = (await import(built)) as typeof import('../../lib/index.ts');

/** Some rooms by themselves, as they ship. */
export const rooms = {
	...(await room<typeof import('../../lib/account/index.ts')>('account')),
	...(await room<typeof import('../../lib/match/index.ts')>('match')),
	...(await room<typeof import('../../lib/model/index.ts')>('model')),
	...(await room<typeof import('../../lib/read/index.ts')>('read')),
	...(await room<typeof import('../../lib/reference/index.ts')>('reference')),
};

function room<T>(name: string): Promise<T> {
	return import(`${built}/${name}`);
}
