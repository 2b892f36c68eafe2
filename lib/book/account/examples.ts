/**
 * Hand-worked examples: shown beside the screens that use the same arithmetic, and checked by the tests. The steps, as
 * written on paper, are in the page's texts (`viewer/strings`); the library's result, to the digits given, and its
 * source are here.
 */
export const EXAMPLES = {
	ratio: { answer: 1.016815, source: 'Ratio of sums: Cochran, Sampling Techniques, 3rd ed., ch. 6' },
	error: { answer: 5, source: 'Definition' },
	offset: { answer: 0.4, source: 'Mass-weighted mean' },
	shrink: { answer: 881.7, source: 'Extension shrink tables' },
	bushels: { answer: 917.4, source: 'Customary bushel weight of corn, 56 lb; dry matter stays, only water leaves' },
	more: { answer: 4, source: "Student's t, any table: t(5) = 2.571, t(6) = 2.447" },
};
