/** A ratio by which values are off where one unit is read as another, and the mistake in words. */
export type Confusion = readonly [ratio: number, mistake: string];

/** Both ways to confuse two units. `size` is how many of the one go into the other. */
export const confusions = (one: string, other: string, size: number): Confusion[] => [
	[size, `${one} read as ${other}`],
	[1 / size, `${other} read as ${one}`],
];
