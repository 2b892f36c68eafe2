/**
 * Every English string of the pages, by section. A section belongs to one view; add yours, leave the others.
 * Functions take values already formatted for the reader's locale.
 */
export const en = {
	shell: {
		name: 'Steelyard',
		views: 'Views',
		map: 'Map',
		compare: 'Compare',
		print: 'Print',
		book: 'Load book',
		units: 'Units',
		us: 'US',
		metric: 'Metric',
		theme: 'Theme',
		light: 'Light',
		dark: 'Dark',
		sun: 'Sun',
		loading: 'Reading the field…',
		failed: 'This could not be read',
	},
};
