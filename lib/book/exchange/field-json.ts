import { utcText } from '../../units/index.ts';
import type { Book } from '../book.ts';
import { thingsOf } from '../entries/thing.ts';
import { find, inOrder, type Kept, kept } from '../kept.ts';
import { namer } from './names.ts';

/** The book's part of field.json: the field, its combines, scales, events and destinations. */
export function fieldJson(
	book: Book,
	own: Kept<'field'>,
	dumps: readonly Kept<'dump'>[],
	offloads: readonly Kept<'offload'>[],
	logs: readonly { file: string; combine: string }[],
): object {
	const names = namer(book);
	const given = (entries: [string, unknown][]) => Object.fromEntries(entries.filter(([, v]) => v !== null && v !== ''));
	// A combine or truck that has left or was voided since still belongs to its dumps.
	const all = <K extends 'combine' | 'cart'>(kind: K) => thingsOf(book, kind).map((x) => find(book, kind, x.id)!);
	const combines = all('combine').filter((c) => dumps.some((d) => d.v.combines.includes(c.id)));
	const carts = all('cart').filter((c) => [...dumps, ...offloads].some((w) => w.v.cart === c.id));
	const rules = kept(book, 'destination').filter((d) => d.v.shrink_pct_per_point !== null);
	const f = own.v;
	return given([
		['name', f.name],
		['season', f.season],
		['client', f.client],
		['farm', f.farm],
		['crop', f.crop],
		['timeZone', f.timeZone],
		['logs', logs],
		['cartLog', { file: 'cart.csv' }],
		['tickets', { file: 'tickets.csv' }],
		[
			'combines',
			Object.fromEntries(
				combines.map((c) => [
					names.combine(c.id),
					given([
						['swath_m', c.v.swath_m],
						['row_m', c.v.row_m],
						['tank_kg', c.v.tank_kg],
						['header_ahead_m', c.v.header_ahead_m],
					]),
				]),
			),
		],
		[
			'scales',
			Object.fromEntries(
				carts.map((c) => [
					c.v.name,
					given([
						['limit_pct', c.v.limit_pct],
						['size_kg', c.v.size_kg],
					]),
				]),
			),
		],
		['events', eventsOf(book, own.id)],
		[
			'destinations',
			rules.length === 0
				? null
				: Object.fromEntries(
						rules.map((d) => [
							d.v.name,
							{ shrink_pct_per_point: d.v.shrink_pct_per_point, handling_pct: d.v.handling_pct ?? 0 },
						]),
					),
		],
	]);
}

/** Recalibrations and similar events: of this field, or of a combine in general; null where there are none. */
function eventsOf(book: Book, field: string): object[] | null {
	const names = namer(book);
	const events = kept(book, 'event')
		.filter((e) => e.v.field === null || e.v.field === field)
		.sort(inOrder)
		.map((e) => ({
			time: utcText(e.v.time_s),
			...(e.v.combine === null ? {} : { combine: names.combine(e.v.combine) }),
			kind: e.v.kind,
			...(e.v.note === null ? {} : { note: e.v.note }),
		}));
	return events.length > 0 ? events : null;
}
