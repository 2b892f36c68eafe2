/** Totals. */
export const totals = {
	totalsTitle: 'Totals',
	totalsBy: 'Totals by',
	wholeSeason: 'Whole season',
	dimensions: {
		field: 'Field',
		share: 'Share',
		truck: 'Truck',
		destination: 'Destination',
		variety: 'Variety',
		day: 'Day',
		combine: 'Combine',
	},
	notForTrade: 'Do not settle sales or crop shares on cart weights. Use tickets from a scale approved for trade.',
	ownShare: 'own share',
	sum: 'Sum',
	wetMass: (unit: string) => `Wet, ${unit}`,
	dryMass: (unit: string) => `Dry, ${unit}`,
	dryBushels: 'Dry, bu',
	waterOff: (unit: string) => `Water shrink, ${unit}`,
	buyersShrink: (unit: string) => `Buyer’s shrink, ${unit}`,
	unknownMoisture: (mass: string) => `${mass} has no moisture and is left out of the dry totals.`,
	totalsRest: (pct: number) =>
		pct === 100
			? 'All of the wet weight is from tickets.'
			: pct === 0
				? 'The wet weight is cart weight × cart ratio.'
				: `${pct}% of the wet weight is from tickets, the rest is cart weight × cart ratio.`,
	totalsDry: (market: string) => `Dry weights are at ${market}% and remove water only; buyers set their own shrink.`,
	reconciled: 'In, out and left over',
	stillIn: (where: string) => `Left in ${where}`,
	tankOf: (combine: string) => `${combine}’s tank`,
	dumpedOffloaded: 'Dumped in / offloaded',
	unexplained: 'Unexplained (scale drift, zeroing)',
	tankHow: 'A tank is known where the monitor’s running total was entered after its last dump.',
	noTicketFor: (mass: string) => `no ticket yet, about ${mass}`,
	ticketOff: (pct: string) => `ticket differs from the cart’s figure by ${pct}; check it`,
	ticketAlone: 'ticket without a truckload',
	offloadAlone: 'offload without a truckload',
};
