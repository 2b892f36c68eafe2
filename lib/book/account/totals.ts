import type { Crop } from '../../model/index.ts';
import type { Book } from '../book.ts';
import { find, nameOf } from '../kept.ts';
import { cropKnown, cropNameOf } from '../values.ts';
import { type Piece, pieces } from './grain-pieces.ts';

/** Dimensions by which totals can be grouped. */
export const DIMENSIONS = ['field', 'share', 'truck', 'destination', 'variety', 'day', 'combine'] as const;
/** One of `DIMENSIONS`: what each row of a totals table stands for. */
export type Dimension = (typeof DIMENSIONS)[number];

/** A row of a table of totals: wet weight, moisture, dry bushels. */
export interface TotalRow {
	/** Id, or day as 2026-10-07, or the landlord's name. Empty = unknown. */
	key: string;
	name: string;
	wet_kg: number;
	/** Mass-weighted over the grain of known moisture; null where none is known. */
	moisture_pct: number | null;
	/** Dry mass and bushels of the grain of known moisture. */
	dry_kg: number;
	dry_bu: number;
	/** Weight that drying to market moisture takes off that grain. */
	water_kg: number;
	/** Wet grain of unknown moisture or crop: it is in no dry figure. */
	unknown_kg: number;
	/** Buyers' deductions; null where no rule applies to any of it. */
	shrink_kg: number | null;
	/** Part of the wet mass that comes from tickets. */
	ticket_kg: number;
}

/** Filter: which pieces to include. */
export interface TotalScope {
	/** By name, '' = no field; the crop determines the bushel, so grain of two crops is never added up. */
	crop?: string | null;
	field?: string | null;
	season?: number | null;
}

/**
 * Totals by one dimension, and their sum. All dimensions use the same pieces, so all sums agree.
 *
 * @param dayOf - the day of a time in the field's zone, as 2026-10-07
 */
export function totals(
	book: Book,
	by: Dimension,
	dayOf: (time_s: number, timeZone: string | null) => string,
	scope: TotalScope = {},
): { rows: TotalRow[]; sum: TotalRow; market_moisture_pct: number | null } {
	const rows = new Map<string, Growing>();
	const sum = emptyRow('', '');
	let crop: Crop | null = null;
	for (const piece of pieces(book)) {
		if (!inScope(book, piece, scope)) continue;
		crop ??= cropKnown(find(book, 'field', piece.field)?.v ?? null);
		for (const [key, name, share] of keysOf(book, piece, by, dayOf)) {
			const row = rows.get(key) ?? emptyRow(key, name);
			rows.set(key, row);
			take(row, piece, share);
		}
		take(sum, piece, 1);
	}
	const sorted = [...rows.values()].sort((a, b) =>
		by === 'day' ? (a.key < b.key ? -1 : 1) : a.name.localeCompare(b.name, 'en'),
	);
	const market_moisture_pct = crop?.market_moisture_pct ?? null;
	return { rows: sorted.map(finish), sum: finish(sum), market_moisture_pct };
}

function inScope(book: Book, p: Piece, scope: TotalScope): boolean {
	const field = find(book, 'field', p.field)?.v ?? null;
	if (scope.field != null && p.field !== scope.field) return false;
	if (scope.season != null && (field?.season ?? null) !== scope.season) return false;
	return scope.crop == null || cropNameOf(field) === scope.crop;
}

/** Names of the crops in scope. */
export function cropsIn(book: Book, scope: TotalScope): string[] {
	const fields = new Set<string | null>();
	for (const p of pieces(book)) if (inScope(book, p, scope)) fields.add(p.field);
	return [...new Set([...fields].map((f) => cropNameOf(find(book, 'field', f)?.v ?? null)))].sort();
}

function keysOf(
	book: Book,
	p: Piece,
	by: Dimension,
	dayOf: (time_s: number, timeZone: string | null) => string,
): [key: string, name: string, share: number][] {
	const field = find(book, 'field', p.field)?.v ?? null;
	switch (by) {
		case 'field':
			return [[p.field ?? '', nameOf(book, p.field), 1]];
		case 'share': {
			const share = (field?.landlord_pct ?? 0) / 100;
			const landlord = field?.landlord ?? '';
			return share > 0
				? [
						[landlord, landlord, share],
						['own', '', 1 - share],
					]
				: [['own', '', 1]];
		}
		case 'truck':
			return [[p.truck ?? '', nameOf(book, p.truck), 1]];
		case 'destination':
			return [[p.destination ?? '', nameOf(book, p.destination) || (p.destination ?? ''), 1]];
		case 'variety':
			return [[p.variety ?? '', p.variety ?? '', 1]];
		case 'day': {
			const day = dayOf(p.time_s, field?.timeZone ?? null);
			return [[day, day, 1]];
		}
		case 'combine': {
			const names = p.combines.map((c) => nameOf(book, c));
			return [[[...p.combines].sort().join('+'), names.sort().join(' + '), 1]];
		}
	}
}

/** Two running sums of moisture are kept until `finish`. */
interface Growing extends TotalRow {
	known_kg: number;
	points: number;
}

function emptyRow(key: string, name: string): Growing {
	return {
		key,
		name,
		wet_kg: 0,
		moisture_pct: null,
		dry_kg: 0,
		dry_bu: 0,
		water_kg: 0,
		unknown_kg: 0,
		shrink_kg: null,
		ticket_kg: 0,
		known_kg: 0,
		points: 0,
	};
}

function take(r: Growing, p: Piece, share: number): void {
	const wet = p.wet_kg * share;
	r.wet_kg += wet;
	if (p.basis === 'ticket') r.ticket_kg += wet;
	if (p.dry_kg === null) r.unknown_kg += wet;
	else {
		r.dry_kg += p.dry_kg * share;
		r.dry_bu += p.dry_bu! * share;
		r.water_kg += (p.wet_kg - p.dry_kg) * share;
		r.known_kg += wet;
		r.points += wet * p.moisture_pct!;
	}
	if (p.shrink_kg !== null) r.shrink_kg = (r.shrink_kg ?? 0) + p.shrink_kg * share;
}

function finish({ known_kg, points, ...plain }: Growing): TotalRow {
	return { ...plain, moisture_pct: known_kg > 0 ? points / known_kg : null };
}
