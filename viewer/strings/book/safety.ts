/** Hand-worked examples and safety. */
export const safety = {
	worked: {
		ratio: 'Worked by hand: ratio of cart and certified scale',
		error: 'Worked by hand: error of a monitor',
		offset: 'Worked by hand: moisture offset',
		shrink: 'Worked by hand: water shrink',
		bushels: 'Worked by hand: dry bushels',
		more: 'Worked by hand: how many more dumps',
	},
	workedSteps: {
		ratio: [
			'Truck loads by the cart: 52,000 + 51,000 + 54,000 lb = 157,000 lb',
			'The same by tickets: 52,900 + 51,770 + 54,970 lb = 159,640 lb',
			'159,640 ÷ 157,000 = 1.0168: the cart reads 1.65% low',
		],
		error: [
			'Monitor: 12,600 lb; cart: 12,000 lb × 1.00 = 12,000 lb',
			'(12,600 − 12,000) ÷ 12,000 = +5%: the monitor reads high',
			'Factor 12,000 ÷ 12,600 = 0.9524',
		],
		offset: [
			'Dumps of one load: 10,000 lb at 17.0% and 20,000 lb at 18.5% by the monitor',
			'(10,000 × 17.0 + 20,000 × 18.5) ÷ 30,000 = 18.0%',
			'Ticket: 18.4%. Offset 18.4 − 18.0 = +0.4 point',
		],
		shrink: [
			'1,000 lb at 25.5%, down to 15.5%',
			'1,000 × (100 − 25.5) ÷ (100 − 15.5) = 881.7 lb',
			'One point: 100 ÷ (100 − 15.5) = 1.1834% of the wet weight',
		],
		bushels: [
			'53,200 lb of corn at 18.4%',
			'53,200 × (100 − 18.4) ÷ (100 − 15.5) = 51,374 lb dry',
			'51,374 ÷ 56 = 917.4 bu at 15.5%',
		],
		more: [
			'Three dumps so far scatter by 2%; wanted ±2%; the scale leaves ±0.5%',
			'Room: 2² − 0.5² = 3.75',
			'n = 6: (2.571 × 2)² ÷ 6 = 4.41, too much; n = 7: (2.447 × 2)² ÷ 7 = 3.42, enough',
			'7 − 3 = 4 more',
		],
	},
	safety: {
		title: 'Before you start, and when you are in a hurry',
		kept: 'Kept on this device',
		points: [
			[
				'Filling the cart',
				'Follow the manufacturer’s instructions for loading and hitch weight. Where they are silent, common practice (no source) is center over the axle first, then rear, then front. Too little weight on the hitch lifts the tractor’s rear wheels.',
			],
			[
				'Weighing',
				'Stop on level ground until the weight is recorded. A weight taken on the move or on a slope is wrong, and may go unnoticed.',
			],
			[
				'People and augers',
				'Keep everyone away from a running auger and from between cart, combine and truck. Look before you swing it out. Shut down and wait until it stops before you reach in.',
			],
			[
				'Grain',
				'Never enter a tank, cart, truck or bin that holds grain. It takes seconds to be pulled under. If grain bridges, stay out and break it from outside.',
			],
			[
				'Not for trade',
				'Do not settle sales or crop shares on cart weights. Use tickets from a scale approved for trade.',
			],
			['The screen', 'Enter what you must while stopped. Everything else can be added later.'],
		] as const,
	},
};
