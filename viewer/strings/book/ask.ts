/** Questions before something unlikely is written. */
export const ask = {
	askTitle: 'Please check',
	change: 'Change it',
	ask: {
		dumpLower: (mass: string, combine: string) =>
			`The reading is ${mass} lower than before. A dump from ${combine} raises it. Was this an offload?`,
		dumpNothing: (combine: string) => `The reading is the same as before. Save a dump of 0 from ${combine}?`,
		dumpSmall: (mass: string, combine: string) => `Only ${mass} from ${combine}?`,
		dumpLarge: (mass: string, combine: string) => `${mass} in one dump from ${combine}?`,
		overCart: (mass: string, size: string) => `That makes ${mass} in the cart, which holds ${size}.`,
		overTank: (mass: string, combine: string, tank: string) =>
			`${mass} in one dump, and ${combine}’s tank holds ${tank}. Two dumps in one weight?`,
		offloadHigher: (mass: string) =>
			`The reading is ${mass} higher than before. An offload lowers it. Was this a dump?`,
		offloadNothing: 'The reading is the same as before. Save an offload of 0?',
		offloadSmall: (mass: string) => `Only ${mass} to the truck?`,
		offloadMore: (mass: string, level: string) => `${mass} to the truck, and the cart holds ${level}?`,
		overLimit: (truck: string, mass: string) => `That puts ${truck} ${mass} over its payload limit.`,
		farOff: (combine: string, shown: string, mass: string, pct: string) =>
			`${combine}’s monitor ${shown}, cart weight ${mass}: an error of ${pct}. A digit, the unit, or a running total?`,
		farOffTotal: (combine: string, shown: string, mass: string, pct: string) =>
			`${combine}’s running total grew by ${shown}, cart weight ${mass}: an error of ${pct}. A digit, the unit, or a dump that was not entered?`,
		moisture: (pct: number) => `${pct}% moisture?`,
		onATruck: (mass: string) => `${mass} on a truck?`,
		ticketOff: (ticket: string, cart: string, load: string) =>
			`The ticket has ${ticket}, the cart put about ${cart} on ${load}. Is it the ticket of this truckload?`,
		small: (what: string, mass: string) => `${what}: only ${mass}?`,
		large: (what: string, mass: string) => `${what}: ${mass}?`,
		recalibrated: (combine: string) =>
			`Was ${combine}’s monitor recalibrated just now? Its factor starts over from here. You can undo this.`,
		drop: 'What you typed is not saved yet.',
	},
	yesSave: (what: string) => `Yes, save ${what}`,
	yesRecalibrated: 'Yes, recalibrated',
	yesDrop: 'Close without saving',
	keepEditing: 'Keep editing',
};
