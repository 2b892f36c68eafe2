/**
 * Hand-worked examples: shown beside the screens that use the same arithmetic, and checked by the tests. The steps, as
 * written on paper, are in the page's texts (`viewer/strings`); the answer and its source are here.
 */
export interface Example {
	id: 'ratio' | 'error' | 'offset' | 'shrink' | 'bushels' | 'more';
	/** The library's result, to the digits given. */
	answer: number;
	source: string;
}

/** The examples, one per rule of arithmetic. */
export const EXAMPLES: readonly Example[] = [
	{
		id: 'ratio',
		answer: 1.016815,
		source: 'Ratio of sums: Cochran, Sampling Techniques, 3rd ed., ch. 6',
	},
	{
		id: 'error',
		answer: 5,
		source: 'Definition',
	},
	{
		id: 'offset',
		answer: 0.4,
		source: 'Mass-weighted mean',
	},
	{
		id: 'shrink',
		answer: 881.7,
		source: 'Extension shrink tables',
	},
	{
		id: 'bushels',
		answer: 917.4,
		source: 'Customary bushel weight of corn, 56 lb; dry matter stays, only water leaves',
	},
	{
		id: 'more',
		answer: 4,
		source: "Student's t, any table: t(5) = 2.571, t(6) = 2.447",
	},
];

/** One example by name. */
export function example(id: Example['id']): Example {
	return EXAMPLES.find((e) => e.id === id)!;
}
