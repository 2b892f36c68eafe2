/** Monitor check. */
export const answer = {
	answerTitle: (field: string) => `Monitor check: ${field}`,
	tolerance: 'Your tolerance',
	readsHigh: 'reads high',
	readsLow: 'reads low',
	since: (dump: string) => `since ${dump}`,
	factor: 'Factor',
	factorInterval: 'Factor, 95% interval',
	errorInterval: 'Error, 95% interval',
	nextLoadInterval: 'Next-dump range',
	loadsUsed: 'Tank loads used',
	keyTheseIn: 'Weights to enter, the last six tank loads:',
	scaleSays: 'Reference weight',
	makersProcedure:
		'Reference weight = cart weight × cart ratio. Follow the manufacturer’s procedure, then record the recalibration: the factor starts over.',
	recalibrate: (combine: string) => `Record a recalibration of ${combine}`,
	sinceThen: (time: string) => `Recalibrated ${time}: counted since then`,
	whoReadsHigher: 'Who reads higher',
	scaleCancels: 'Weighed by one cart: a constant percentage error of its scale cancels.',
	moistureOffsets: 'Moisture compared with tickets',
	offsetIs: (combine: string, points: string, n: number) =>
		`${combine}: add ${points} points (${n} ${n === 1 ? 'truckload' : 'truckloads'})`,
	waitingTitle: 'Dumps not used for a factor',
	waiting: {
		'set aside': 'left out of the factor by you (still counted in totals)',
		'no combine': 'names no combine',
		'no monitor': 'has no monitor weight',
		'no weight': 'has no weight',
		'not emptied': 'left grain in the tank: grouped with the next dump',
		'no moisture': 'was entered dry: enter the moisture on the monitor',
		'no crop': 'needs the field’s crop: choose it under Fields',
		'first total': 'is where the running total starts',
		wrong: 'is far out of line with the other dumps (still counted in totals)',
	},
	noTicketYet: (pct: string) =>
		`No ticket yet: the cart scale is assumed good to ±${pct}%, and more dumps do not improve that. Get tickets for three to five truckloads.`,
	toTickets: 'Enter a ticket',
};
