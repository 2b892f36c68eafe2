/** The load book as a table: every row ever written, voided or not; a tap opens it with its history. */
import { computed, signal } from '@preact/signals';
import {
	bookFills,
	find,
	type Kind,
	readingsOf,
	type Thing,
	thingById,
	thingsOf,
	ticketNet_kg,
} from '../../../lib/book/index.ts';
import { Button, Check } from '../../inputs.tsx';
import { number } from '../../state/format.ts';
import { Heads, ScrollBox } from '../../table.tsx';
import { strikeThing } from '../model/acts.ts';
import { opened } from '../model/route.ts';
import { book, bookOfFigures, conflicting, doubled, field, grain, ratios, sheet } from '../model/state.ts';
import { combineNames, fromKgHl, mass, nameOfThing, pct, t, testWeightUnit, truckLabel, when } from '../model/words.ts';
import { Care, Pick, RowLine } from '../ui/parts.tsx';
import { Torn } from '../ui/row.tsx';
import { Rows } from '../ui/window.tsx';

const ROWS: Kind[] = ['dump', 'offload', 'ticket', 'zero'];
const which = signal<'all' | 'dump' | 'offload' | 'ticket'>('all');
const everywhere = signal(false);

/** Row height, CSS pixels. */
const HEIGHT = 64;

function rowsNow(): Thing[] {
	return ROWS.filter((kind) => which.value === 'all' || kind === which.value)
		.flatMap((kind) => [...thingsOf(book.value, kind).values()])
		.filter((x) => everywhere.value || field.value === null || touchesField(x, field.value.id))
		.sort((a, b) => Number(b.values.time_s ?? 0) - Number(a.values.time_s ?? 0) || (a.id < b.id ? 1 : -1));
}

function touchesField(x: Thing, fieldId: string): boolean {
	if (x.kind === 'dump') return x.values.field === fieldId;
	if (x.kind === 'offload') {
		const took = grain.value.byId.get(x.id)?.took ?? [];
		return x.struck || took.some((p) => find(book.value, 'dump', p.dump)?.v.field === fieldId);
	}
	if (x.kind === 'ticket') {
		const holds = grain.value.loads.get(String(x.values.load))?.holds ?? [];
		return (
			x.values.field === fieldId ||
			x.values.load == null ||
			holds.some((p) => find(book.value, 'dump', p.dump)?.v.field === fieldId)
		);
	}
	return true;
}

export function RowsPage() {
	const rows = rowsNow();
	return (
		<div class="page">
			<h2>{t.rowsTitle}</h2>
			{conflicting.value.length > 0 && (
				<section class="card" aria-label={t.conflicts}>
					<h3>{t.conflictsFound(conflicting.value.length)}</h3>
					{conflicting.value.map((c) => (
						<Torn key={c.thing + c.key} conflict={c} />
					))}
				</section>
			)}
			{doubled.value.map((w) => (
				<Care key={w.dumps.join()}>
					{t.twins(nameOfThing(w.dumps[0]), nameOfThing(w.dumps[1]))}{' '}
					{w.dumps.map((d) => (
						<span key={d} class="twin">
							{t.twinOf(
								nameOfThing(d),
								mass(grain.value.byId.get(d)?.net_kg ?? null),
								thingById(book.value, d)?.entries[0]?.by ?? '',
							)}
							<Button onClick={() => void strikeThing(d, t.twinWhy)} text={t.strikeOne(nameOfThing(d))} />
						</span>
					))}
				</Care>
			))}
			<div class="filters">
				<Pick
					label={t.show}
					options={[
						['all', t.all],
						['dump', t.dumps],
						['offload', t.offloads],
						['ticket', t.tickets],
					]}
					value={which.value}
					choose={(v) => (which.value = v)}
				/>
				<Check label={t.allFields} checked={everywhere.value} set={(checked) => (everywhere.value = checked)} />
			</div>
			<ScrollBox class="wide" label={t.rowsTitle}>
				<table class="book-table">
					<Heads
						of={[
							t.columns.number,
							t.time,
							t.what,
							{ n: t.net },
							{ n: t.monitorColumn },
							{ n: t.errorColumn },
							t.columns.load,
							t.columns.destination,
							{ n: t.columns.moisture_pct },
							{ n: t.columns.testWeight_kg_hl },
							t.columns.variety,
							t.columns.note,
						]}
					/>
					<Rows rows={rows} height={HEIGHT} columns={12} draw={(x) => <Row key={x.id} thing={x} />} />
				</table>
			</ScrollBox>
			{rows.length === 0 && <p class="soft">{t.nothingYet}</p>}
			<Odd />
		</div>
	);
}

/** The truckload that most of a dump went to. */
const loadOf = computed(() => {
	const best = new Map<string, { load: string; kg: number }>();
	for (const l of grain.value.loads.values())
		for (const p of l.holds) if (p.kg > (best.get(p.dump)?.kg ?? 0)) best.set(p.dump, { load: l.id, kg: p.kg });
	return new Map([...best].map(([d, b]) => [d, b.load]));
});

/** Error of the tank load that a dump belongs to, percent, relative to cart weight × cart ratio. */
const errorOf = computed(() => {
	const errors = new Map<string, number>();
	for (const f of bookFills(bookOfFigures.value).fills) {
		const reference_kg = f.cart_kg * (ratios.value.get(f.cart)?.ratio ?? 1);
		const shown_kg = f.monitor.reduce((s, m) => s + m.kg, 0);
		if (reference_kg > 0) for (const d of f.dumps) errors.set(d, 100 * (shown_kg / reference_kg - 1));
	}
	return errors;
});

function Row(props: { thing: Thing }) {
	const { thing: x } = props;
	const v = x.values;
	const net = grain.value.byId.get(x.id)?.net_kg ?? null;
	const weight = x.kind === 'ticket' ? ticketNet_kg(x.v as Thing<'ticket'>['v']) : x.kind === 'zero' ? null : net;
	const load = typeof v.load === 'string' ? v.load : x.kind === 'dump' ? (loadOf.value.get(x.id) ?? null) : null;
	const destination = (v.destination as string | null) ?? find(book.value, 'load', load)?.v.destination ?? null;
	const readings = x.kind === 'dump' && !x.struck ? readingsOf(book.value, x.id) : [];
	const shown = readings.map((r) => t.amount(r.v.value, r.v.unit)).join(' + ');
	const error = readings.length > 0 ? (errorOf.value.get(x.id) ?? null) : null;
	const what =
		x.kind === 'dump'
			? combineNames((v.combines as string[]) ?? [])
			: x.kind === 'offload'
				? t.toTruckShort
				: x.kind === 'ticket'
					? t.kinds.ticket
					: t.kinds.zero;
	return (
		<tr class={x.struck ? 'struck' : x.conflicts.length > 0 ? 'in-conflict' : ''}>
			<td>
				<Button
					onClick={() => (opened.value = x.id)}
					aria-label={`${t.kinds[x.kind]} ${String(v.number ?? '')}`}
					text={String(v.number ?? '') || '·'}
				/>
			</td>
			<td>{when(Number(v.time_s ?? 0))}</td>
			<td>
				{what}
				{v.emptied === 'no' && <span class="soft"> ({t.tankNotEmpty})</span>}
				{x.entries.length > 1 && <span class="mended"> {x.struck ? t.struckOut : t.mended}</span>}
			</td>
			<td class="n">{x.struck ? '–' : mass(weight)}</td>
			<td class="n">{shown}</td>
			<td class="n">{error === null ? '' : pct(error)}</td>
			<td>{load === null ? '' : truckLabel(load)}</td>
			<td>{nameOfThing(destination)}</td>
			<td class="n">{typeof v.moisture_pct === 'number' ? `${number(v.moisture_pct, 1)}%` : ''}</td>
			<td class="n">
				{typeof v.testWeight_kg_hl === 'number' ? `${number(fromKgHl(v.testWeight_kg_hl), 1)} ${testWeightUnit()}` : ''}
			</td>
			<td>{String(v.variety ?? '')}</td>
			<td class="note">{String(v.note ?? '')}</td>
		</tr>
	);
}

/** Rows with something odd. */
function Odd() {
	const odd = sheet.value.odd;
	if (odd.length === 0) return null;
	return (
		<section class="card">
			<h3>{t.oddTitle}</h3>
			<ul class="waiting">
				{odd.map((w) => (
					<RowLine
						key={w.id}
						id={w.id}
						name={nameOfThing(w.id) || t.kinds[w.kind]}
						text={w.odd.map((o) => t.odd[o]).join(' ')}
					/>
				))}
			</ul>
		</section>
	);
}
