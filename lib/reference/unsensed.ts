import {
	type FieldPlan,
	type LoadBook,
	MOISTURE,
	type MoistureOffset,
	type Records,
	type Track,
} from '../model/index.ts';

/** A moisture for grain that no sensor measured, wet basis. */
export interface StandIn {
	pct: number;
	/** Standard uncertainty, points. */
	u_pct: number;
	from: 'tickets' | 'cart' | 'market';
}

/**
 * The moisture of a field where no log has any: the mean of the tickets' by weight, or of those noted with the dumps;
 * market moisture where nobody noted one, and then the grain may have been points wetter or drier.
 */
export function unsensedMoisture(book: LoadBook, plan: FieldPlan): StandIn {
	const tickets = meanOf(book.tickets.map((t) => [t.net_kg, t.moisture_pct]));
	if (tickets !== null) return { pct: tickets, u_pct: MOISTURE.unchecked_u_pct, from: 'tickets' };
	const cart = meanOf([...book.dumps, ...book.offloads].map((d) => [d.weight_kg, d.moisture_pct]));
	if (cart !== null) return { pct: cart, u_pct: MOISTURE.unchecked_u_pct, from: 'cart' };
	return { pct: plan.crop.market_moisture_pct, u_pct: MOISTURE.unknown_u_pct, from: 'market' };
}

function meanOf(loads: readonly (readonly [number, number])[]): number | null {
	let [kg, water] = [0, 0];
	for (const [weight_kg, moisture_pct] of loads) {
		if (!(weight_kg > 0 && moisture_pct > 0)) continue;
		kg += weight_kg;
		water += weight_kg * moisture_pct;
	}
	return kg > 0 ? water / kg : null;
}

/** A sensor that misses less than this share of its combine's records goes without a caution. */
const MISSED = 0.2;

/** Cautions for moistures that no sensor measured, with what stands in for them. */
export function moistureGaps(input: {
	records: Records;
	track: Track;
	moisture: readonly MoistureOffset[];
	plan: FieldPlan;
}): string[] {
	const { records, track, moisture, plan } = input;
	const standIn = moisture[0]?.standIn;
	if (standIn) {
		const { pct, u_pct, from } = standIn;
		const about = `${pct.toFixed(1)}%`;
		const taken = {
			tickets: `Dry weights assume ${about}, the mean of the tickets.`,
			cart: `Dry weights assume ${about}, the mean of the cart log.`,
			market: `Dry weights assume the market moisture of ${plan.crop.market_moisture_pct}% (±${2 * u_pct} points): get the moisture of a few loads.`,
		};
		return [`No log has a moisture. ${taken[from]}`];
	}
	const flowing = records.combines.map(() => 0);
	const missed = records.combines.map(() => 0);
	for (let i = 0; i < records.n; i++) {
		if (!(records.flow_kg_s[i]! > 0)) continue;
		flowing[records.combine[i]!]!++;
		if (!Number.isFinite(track.moisture_pct[i]!)) missed[records.combine[i]!]!++;
	}
	return records.combines.flatMap((name, c) => {
		const share = missed[c]! / flowing[c]!;
		if (!(share > MISSED)) return [];
		const size = share > 0.995 ? 'has no moisture' : `has no moisture in ${Math.round(100 * share)}% of its records`;
		return [`Combine ${name} ${size}. Dry weights assume the mean of the field's other records there.`];
	});
}
