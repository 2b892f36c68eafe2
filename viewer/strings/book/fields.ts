/** Fields; combines and trucks that come and go. */
export const fields = {
	fieldsTitle: 'Fields',
	newField: 'New field',
	startThis: 'Start',
	fieldNumber: (n: number) => `Field ${n}`,
	search: 'Search season, client, farm, field, crop',
	notBegun: 'not started',
	noneFound: 'None found.',
	howMany: 'Combines',
	combineCount: (n: number) => (n === 1 ? '1 combine' : `${n} combines`),

	hereToday: 'Here today',
	notHere: 'Not here today',
	voidedOnes: 'Voided',
	newCombine: 'New combine',
	doneFields: 'Not worked on now',
	cropNames: {
		corn: 'Corn',
		soybeans: 'Soybeans',
		wheat: 'Wheat',
		barley: 'Barley',
		oats: 'Oats',
		rye: 'Rye',
		sorghum: 'Sorghum',
		canola: 'Canola',
	} as Record<string, string>,
	cropUnknown: (crop: string) =>
		`Unknown crop “${crop}”: weights only, no bushels and no dry weight. Choose the crop under Fields.`,
	cropOf: (crop: string) => `Totals: ${crop}`,
};
