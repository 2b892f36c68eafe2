import { utcText } from '../../units/index.ts';
import type { Book } from '../book.ts';
import { type Thing, thingsOf } from '../entries/thing.ts';
import { inOrder, kept } from '../kept.ts';
import { namer } from './unique-names.ts';

/** The book's part of field.json: the field, its combines, scales, events and destinations. */
export function fieldJson(
	book: Book,
	own: Thing<'field'>,
	dumps: readonly Thing<'dump'>[],
	offloads: readonly Thing<'offload'>[],
	logs: readonly { file: string; combine: string }[],
): object {
	const names = namer(book);
	// A combine or truck that has left or was voided since still belongs to its dumps.
	const all = <K extends 'combine' | 'cart'>(kind: K) => [...thingsOf(book, kind).values()];
	const combines = all('combine').filter((c) => dumps.some((d) => d.v.combines.includes(c.id)));
	const carts = all('cart').filter((c) => [...dumps, ...offloads].some((w) => w.v.cart === c.id));
	const rules = kept(book, 'destination').filter((d) => d.v.shrink_pct_per_point !== null);
	const { name, season, client, farm, crop, timeZone } = own.v;
	const byName = <T>(list: readonly T[], of: (one: T) => [string, object]) => Object.fromEntries(list.map(of));
	return given({
		name,
		season,
		client,
		farm,
		crop,
		timeZone,
		logs,
		cartLog: { file: 'cart.csv' },
		tickets: { file: 'tickets.csv' },
		combines: byName(combines, ({ id, v: { swath_m, row_m, tank_kg, header_ahead_m } }) => [
			names.combine(id),
			given({ swath_m, row_m, tank_kg, header_ahead_m }),
		]),
		scales: byName(carts, ({ v: { name, limit_pct, size_kg } }) => [name, given({ limit_pct, size_kg })]),
		events: eventsOf(book, own.id),
		destinations:
			rules.length === 0
				? null
				: byName(rules, ({ v: { name, shrink_pct_per_point, handling_pct } }) => [
						name,
						{ shrink_pct_per_point, handling_pct: handling_pct ?? 0 },
					]),
	});
}

/** The entries that have a value. */
const given = (entries: Record<string, unknown>): object =>
	Object.fromEntries(Object.entries(entries).filter(([, v]) => v !== null && v !== ''));

/** Recalibrations and similar events: of this field, or of a combine in general; null where there are none. */
function eventsOf(book: Book, field: string): object[] | null {
	const names = namer(book);
	const events = kept(book, 'event')
		.filter((e) => e.v.field === null || e.v.field === field)
		.sort(inOrder)
		.map(({ v: { time_s, combine, kind, note } }) =>
			given({ time: utcText(time_s), combine: combine && names.combine(combine), kind, note }),
		);
	return events.length > 0 ? events : null;
}
