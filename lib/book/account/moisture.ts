import { tQuantile, weightedRegression } from '../../stats/index.ts';
import type { Book } from '../book.ts';
import { find, readingsOf } from '../kept.ts';
import { ledger } from '../ledger/ledger.ts';

/** Ticket less sensed moisture of one combine, percentage points. */
export interface BookOffset {
	combine: string;
	offset_pct: number;
	/** 95% interval; null with fewer than two loads. */
	interval_pct: [number, number] | null;
	n: number;
}

/**
 * Moisture offset of each combine from truckloads: ticket − sensed, where the sensed moisture is the mass-weighted
 * mean of what the monitors showed over the load's dumps. Loads mixed from combines are solved together (weighted
 * least squares on each combine's share of the load).
 */
export function moistureOffsets(book: Book): BookOffset[] {
	const l = ledger(book);
	const rows: { shares: Map<string, number>; sensed: number; certified: number }[] = [];
	for (const load of l.loads.values()) {
		const certified = certifiedMoisture_pct(book, load.tickets);
		if (certified === null || load.straight) continue;
		const shares = new Map<string, number>();
		let kg = 0;
		let sensed = 0;
		let whole = load.holds.length > 0;
		for (const p of load.holds) {
			const dump = find(book, 'dump', p.dump);
			const combine = dump?.v.combines.length === 1 ? dump.v.combines[0]! : null;
			const shown = readingsOf(book, p.dump).findLast((r) => r.v.combine === combine && r.v.moisture_pct !== null);
			if (combine === null || !shown) {
				whole = false;
				break;
			}
			kg += p.kg;
			sensed += p.kg * shown.v.moisture_pct!;
			shares.set(combine, (shares.get(combine) ?? 0) + p.kg);
		}
		if (!whole || kg <= 0) continue;
		for (const [c, x] of shares) shares.set(c, x / kg);
		rows.push({ shares, sensed: sensed / kg, certified });
	}
	const combines = [...new Set(rows.flatMap((r) => [...r.shares.keys()]))];
	if (combines.length === 0 || rows.length < combines.length) return [];
	try {
		const fit = weightedRegression(
			rows.map((r) => combines.map((c) => r.shares.get(c) ?? 0)),
			rows.map((r) => r.certified - r.sensed),
		);
		return combines.map((combine, i) => {
			const half = fit.df > 0 ? tQuantile(0.975, fit.df) * fit.u[i]! : null;
			const offset_pct = fit.beta[i]!;
			return {
				combine,
				offset_pct,
				interval_pct: half === null ? null : [offset_pct - half, offset_pct + half],
				n: rows.filter((r) => (r.shares.get(combine) ?? 0) > 0).length,
			};
		});
	} catch {
		// Loads that all have the same mix cannot separate the combines: no offset is better than an invented one.
		return [];
	}
}

/** Moisture of a load's tickets, weighted by their nets where several give one. */
export function certifiedMoisture_pct(book: Book, tickets: readonly string[]): number | null {
	let kg = 0;
	let sum = 0;
	for (const id of tickets) {
		const t = find(book, 'ticket', id);
		if (!t || t.v.moisture_pct === null) continue;
		const net = Math.max(1, t.v.net_kg ?? (t.v.gross_kg ?? 0) - (t.v.tare_kg ?? 0));
		kg += net;
		sum += net * t.v.moisture_pct;
	}
	return kg > 0 ? sum / kg : null;
}
