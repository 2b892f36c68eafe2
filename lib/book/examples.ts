/**
 * Hand-worked examples: shown beside the screens that use the same arithmetic, and held by the tests. Each has the
 * steps as one would write them on paper, the answer, and where it can be looked up.
 */
export interface Example {
	id: 'ratio' | 'error' | 'offset' | 'shrink' | 'bushels' | 'more';
	/** Lines of arithmetic. */
	steps: readonly string[];
	/** What the library must give, to the digits stated. */
	answer: number;
	source: string;
}

export const EXAMPLES: readonly Example[] = [
	{
		id: 'ratio',
		steps: [
			'Truck loads by the cart: 52,000 + 51,000 + 54,000 lb = 157,000 lb',
			'The same by certified tickets: 52,900 + 51,770 + 54,970 lb = 159,640 lb',
			'159,640 ÷ 157,000 = 1.0168: the cart reads 1.65 % low',
		],
		answer: 1.016815,
		source: 'Ratio of sums: Cochran, Sampling Techniques, 3rd ed., ch. 6',
	},
	{
		id: 'error',
		steps: [
			'Monitor: 12,600 lb; cart: 12,000 lb × 1.00 = 12,000 lb',
			'(12,600 − 12,000) ÷ 12,000 = +5 %: the monitor reads high',
			'Factor 12,000 ÷ 12,600 = 0.9524',
		],
		answer: 5,
		source: 'Definition',
	},
	{
		id: 'offset',
		steps: [
			'Dumps of one load: 10,000 lb at 17.0 % and 20,000 lb at 18.5 % by the monitor',
			'(10,000 × 17.0 + 20,000 × 18.5) ÷ 30,000 = 18.0 %',
			'Ticket: 18.4 %. Offset 18.4 − 18.0 = +0.4 points',
		],
		answer: 0.4,
		source: 'Mass-weighted mean',
	},
	{
		id: 'shrink',
		steps: [
			'1,000 lb at 25.5 %, down to 15.5 %',
			'1,000 × (100 − 25.5) ÷ (100 − 15.5) = 881.7 lb',
			'One point: 100 ÷ (100 − 15.5) = 1.1834 % of the wet weight',
		],
		answer: 881.7,
		source: 'Extension shrink tables',
	},
	{
		id: 'bushels',
		steps: [
			'53,200 lb of corn at 18.4 %',
			'53,200 × (100 − 18.4) ÷ (100 − 15.5) = 51,374 lb dry',
			'51,374 ÷ 56 = 917.4 bu at 15.5 %',
		],
		answer: 917.4,
		source: 'Customary bushel weight of corn, 56 lb; dry matter stays, only water leaves',
	},
	{
		id: 'more',
		steps: [
			'Three dumps so far scatter by 2 %; wanted ± 2 %; the scale leaves ± 0.5 %',
			'Room: 2² − 0.5² = 3.75',
			'n = 6: (2.571 × 2)² ÷ 6 = 4.41, too much; n = 7: (2.447 × 2)² ÷ 7 = 3.42, enough',
			'7 − 3 = 4 more',
		],
		answer: 4,
		source: "Student's t, any table: t(5) = 2.571, t(6) = 2.447",
	},
];

/** One example by name. */
export function example(id: Example['id']): Example {
	return EXAMPLES.find((e) => e.id === id)!;
}
