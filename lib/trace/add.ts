import {
	caution,
	type Dump,
	type LoadBook,
	type Note,
	type Offload,
	remark,
	type WeightTrace,
} from '../model/index.ts';
import { type WeightEvent, weightEvents } from './events.ts';

/** An event this close to a row of the cart log, in time and weight, is the same as that row. */
const SAME_S = 300;
const SAME_REL = 0.04;

/**
 * The load book with the events of a weight trace added. Events that are already in the cart log are not added again.
 * A dump's combine is not known from a trace.
 */
export function addTrace(book: LoadBook, trace: WeightTrace): { book: LoadBook; notes: Note[] } {
	const events = weightEvents(trace);
	const fresh = events.filter((e) => !logged(book, e));
	let order = 0;
	for (const row of [...book.dumps, ...book.offloads]) order = Math.max(order, row.order + 1);
	const taken = new Set([...book.dumps, ...book.offloads].map((r) => r.id));
	const counts = { dump: 0, offload: 0 };
	const name = (kind: WeightEvent['kind']): string => {
		for (;;) {
			const id = `${kind === 'dump' ? 'D' : 'L'}${String(++counts[kind]).padStart(2, '0')}`;
			if (!taken.has(id)) return id;
		}
	};
	const dumps: Dump[] = [];
	const offloads: Offload[] = [];
	for (const e of fresh) {
		const row: Offload = {
			id: name(e.kind),
			origin: { file: trace.file, row: trace.line[e.sample] ?? null },
			order: order++,
			time_s: e.end_s,
			timeGrain: 'second',
			weight_kg: e.weight_kg,
			u_kg: e.u_kg,
			truckLoad: null,
			scale: null,
			field: null,
			moisture_pct: Number.NaN,
			testWeight_kg_hl: Number.NaN,
			variety: null,
			destination: null,
			lat_deg: Number.NaN,
			lon_deg: Number.NaN,
			note: e.settled ? null : 'the cart moved before its weight settled',
		};
		if (e.kind === 'dump') dumps.push({ ...row, combines: [], emptied: -1, settled: e.settled });
		else offloads.push(row);
	}
	const notes: Note[] = [
		remark(
			`${trace.file}: ${events.filter((e) => e.kind === 'dump').length} dumps and ${events.filter((e) => e.kind === 'offload').length} offloads found in the weight trace${fresh.length < events.length ? `; ${events.length - fresh.length} of them are rows of the cart log` : ''}.`,
		),
	];
	const early = dumps.filter((d) => !d.settled);
	if (early.length > 0) {
		notes.push(
			caution(
				`${early.map((d) => d.id).join(', ')}: the cart moved before its weight had settled. Wait a few seconds after each dump; a weight taken too soon can be wrong without showing it.`,
			),
		);
	}
	return {
		book: { dumps: [...book.dumps, ...dumps], offloads: [...book.offloads, ...offloads], tickets: book.tickets },
		notes,
	};
}

function logged(book: LoadBook, e: WeightEvent): boolean {
	const rows: readonly Offload[] = e.kind === 'dump' ? book.dumps : book.offloads;
	return rows.some(
		(r) => Math.abs(r.weight_kg - e.weight_kg) < SAME_REL * e.weight_kg + 30 && Math.abs(r.time_s - e.end_s) < SAME_S,
	);
}
