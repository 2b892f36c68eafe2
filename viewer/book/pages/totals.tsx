/** Totals by any dimension, and the balance of the book: in, out, weighed, in transit. */
import { signal } from '@preact/signals';
import {
	cropsIn,
	DIMENSIONS,
	type Dimension,
	type TotalRow,
	type TotalScope,
	totals,
} from '../../../lib/book/index.ts';
import { Button, Check } from '../../inputs.tsx';
import { number } from '../../state/format.ts';
import { Heads, ScrollBox } from '../../table.tsx';
import { bookOfFigures, field, season, sheet } from '../model/state.ts';
import { dayOf, mass, massNumber, massUnit, nameOfThing, pct, t, truckLabel } from '../model/words.ts';
import { Care, Numbers, RowLine, Worked } from '../ui/parts.tsx';

const by = signal<Dimension>('field');
const whole = signal(false);

export function TotalsPage() {
	const scope =
		whole.value || by.value === 'field' || !field.value ? { season: season.value } : { field: field.value.id };
	// Grain of two crops is never added up.
	const crops = cropsIn(bookOfFigures.value, scope);
	return (
		<div class="page">
			<h2>{t.totalsTitle}</h2>
			<div class="filters">
				<fieldset class="choices" aria-label={t.totalsBy}>
					{DIMENSIONS.map((d) => (
						<Button key={d} aria-pressed={by.value === d} onClick={() => (by.value = d)} text={t.dimensions[d]} />
					))}
				</fieldset>
				<Check label={t.wholeSeason} checked={whole.value} set={(checked) => (whole.value = checked)} />
			</div>
			{(crops.length === 0 ? [null] : crops).map((c) => (
				<OfCrop key={c} scope={{ ...scope, crop: c }} several={crops.length > 1} />
			))}
			{by.value === 'share' && <Care>{t.notForTrade}</Care>}
			<Worked id="shrink" />
			<Worked id="bushels" />
			<Reconciled />
		</div>
	);
}

function OfCrop(props: { scope: TotalScope; several: boolean }) {
	const { scope } = props;
	const { rows, sum, market_moisture_pct } = totals(bookOfFigures.value, by.value, dayOf, scope);
	const name = props.several ? t.cropOf(t.cropNames[scope.crop ?? ''] ?? scope.crop ?? '') : t.totalsTitle;
	return (
		<>
			{props.several && <h3>{name}</h3>}
			<ScrollBox class="wide" label={name}>
				<table class="totals">
					<Heads of={[t.dimensions[by.value], ...columns().map(([label]) => ({ n: label }))]} />
					<tbody>
						{rows.map((r) => (
							<Line key={r.key} row={r} name={nameOf(r)} />
						))}
					</tbody>
					<tfoot>
						<Line row={sum} name={t.sum} />
					</tfoot>
				</table>
			</ScrollBox>
			{market_moisture_pct === null
				? scope.crop != null && <Care bad>{t.cropUnknown(scope.crop || t.notSaid)}</Care>
				: sum.unknown_kg > 0 && <Care>{t.unknownMoisture(mass(sum.unknown_kg))}</Care>}
			<p class="soft small">
				{t.totalsRest(Math.round((100 * sum.ticket_kg) / Math.max(1, sum.wet_kg)))}{' '}
				{market_moisture_pct !== null && t.totalsDry(number(market_moisture_pct, 1))}
			</p>
		</>
	);
}

function nameOf(r: TotalRow): string {
	if (r.key === 'own' && by.value === 'share') return t.ownShare;
	return r.name === '' ? t.notSaid : r.name;
}

/** Columns of the table: labels, and the cells of a row. Dry figures are unknown without a moisture. */
function columns(): [label: string | undefined, cell: (r: TotalRow) => string][] {
	const dry = (cell: (r: TotalRow) => string) => (r: TotalRow) => (r.moisture_pct === null ? '–' : cell(r));
	return [
		[t.wetMass(massUnit()), (r) => massNumber(r.wet_kg)],
		[t.columns.moisture_pct, dry((r) => `${number(r.moisture_pct, 1)}%`)],
		[t.dryMass(massUnit()), dry((r) => massNumber(r.dry_kg))],
		[t.dryBushels, dry((r) => number(r.dry_bu, 1))],
		[t.waterOff(massUnit()), dry((r) => massNumber(r.water_kg))],
		[t.buyersShrink(massUnit()), (r) => massNumber(r.shrink_kg)],
	];
}

function Line(props: { row: TotalRow; name: string }) {
	return (
		<tr>
			<th scope="row">{props.name}</th>
			{columns().map(([label, cell]) => (
				<td class="n" data-label={label} key={label}>
					{cell(props.row)}
				</td>
			))}
		</tr>
	);
}

/** The latest entries of one kind in the list of unmatched rows. */
const MOST = 30;

function Reconciled() {
	const s = sheet.value;
	const open = s.loads.filter((l) => l.ticket_kg === null && l.cart_kg > 0);
	const odd = s.loads.filter((l) => l.odd);
	return (
		<section class="card" aria-label={t.reconciled}>
			<h3>{t.reconciled}</h3>
			<Numbers
				of={[
					...s.carts.flatMap((c) => [
						[t.stillIn(nameOfThing(c.cart)), mass(c.level_kg)] as const,
						[t.dumpedOffloaded, `${mass(c.in_kg)} / ${mass(c.out_kg)}`] as const,
						...(Math.abs(c.unexplained_kg) > 1 ? [[t.unexplained, mass(c.unexplained_kg)] as const] : []),
					]),
					...s.tanks.map(
						(x) => [t.stillIn(t.tankOf(nameOfThing(x.combine))), x.kg === null ? t.notKnown : mass(x.kg)] as const,
					),
				]}
			/>
			<p class="soft small">{t.tankHow}</p>
			<ul class="waiting">
				{open
					.slice(-MOST)
					.reverse()
					.map((l) => (
						<RowLine key={l.load} id={l.load} name={truckLabel(l.load)} text={t.noTicketFor(mass(l.expected_kg))} />
					))}
				{odd.slice(-MOST).map((l) => (
					<RowLine key={l.load} id={l.load} name={truckLabel(l.load)} text={t.ticketOff(pct(l.off_pct))} warn />
				))}
				{[open, odd].map((list, i) => list.length > MOST && <li key={i}>{t.andMore(list.length - MOST)}</li>)}
				{s.ticketsAlone.map((id) => (
					<RowLine key={id} id={id} name={nameOfThing(id)} text={t.ticketAlone} warn />
				))}
				{s.offloadsAlone.map((id) => (
					<RowLine key={id} id={id} name={nameOfThing(id)} text={t.offloadAlone} warn />
				))}
			</ul>
		</section>
	);
}
