/** Two combines row by row, and what each did over the whole field. */
import type { ComponentChildren } from 'preact';
import type { ComparedRow, Scene } from '../../../lib/model/index.ts';
import { factorRange } from '../../../lib/units/index.ts';
import { number, numbers, own, type Quantity, quantity, shownAs, signed, signedInterval } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Heads, ScrollBox } from '../../table.tsx';
import { CombineName } from '../evidence/link.tsx';

const t = strings.compare;

export function Table({ s }: { s: Scene }) {
	const comparison = s.facts.evidence?.comparison;
	if (!comparison || comparison.pairs.length === 0) return <Short s={s} />;
	const { combines } = s.facts;
	return (
		<>
			{comparison.pairs.map((pair) => (
				<ScrollBox class="table-box whole" key={`${pair.combineA}/${pair.combineB}`}>
					<table>
						<Heads
							of={[
								t.what,
								{ n: <CombineName combine={pair.combineA} name={combines[pair.combineA]!} /> },
								{ n: <CombineName combine={pair.combineB} name={combines[pair.combineB]!} /> },
								{ n: t.difference },
								{ n: t.interval },
								t.verdict,
							]}
						/>
						<tbody>
							{pair.rows.map((row) => (
								<Row key={row.what} row={row} s={s} />
							))}
						</tbody>
					</table>
					{pair.remarks.map((r) => (
						<p key={r} class="small">
							{own(r)}
						</p>
					))}
					<p class="small soft">{t.byChance}</p>
				</ScrollBox>
			))}
			<Whole s={s} />
		</>
	);
}

function Row({ row, s }: { row: ComparedRow; s: Scene }) {
	const { unit, factor, digits } = unitOf(row, s);
	// Values from the worker are null where not known.
	const of = (v: number | null) => number(v === null ? null : v * factor, digits);
	return (
		<tr>
			<th scope="row" class="words">
				{t.rows[row.what]}
				{unit && <span class="soft">, {unit}</span>}
				{row.shared && <span class="soft"> {t.shared}</span>}
			</th>
			<td class="n">{of(row.a)}</td>
			<td class="n">{of(row.b)}</td>
			<td class="n">{signed(row.difference * factor, digits)}</td>
			<td class="n">
				{row.interval.every(Number.isFinite)
					? signedInterval([row.interval[0] * factor, row.interval[1] * factor], digits)
					: '–'}
			</td>
			<td class={row.certain ? 'sure' : 'soft'}>{row.verdict}</td>
		</tr>
	);
}

/** How a row's unit is shown: as a quantity in the page's units, or by its own symbol. */
const asQuantity: Partial<Record<ComparedRow['unit'], { what: Quantity; scale: number }>> = {
	'kg/ha': { what: 'yield', scale: 1 },
	'm/s': { what: 'speed', scale: 1 },
};

/** The unit of a row as shown now: its symbol, the factor of its values, and digits. */
function unitOf(row: ComparedRow, s: Scene): { unit: string; factor: number; digits: number } {
	const { crop } = s.facts.field;
	const mass = shownAs('mass', crop);
	// Wet weights are in pounds or kilograms, since bushels would be taken for dry ones.
	if (row.what === 'scale_weight' && mass.unit === 'lb') {
		const area = shownAs('area', crop);
		return { unit: `lb/${area.unit}`, factor: mass.factor / area.factor, digits: 0 };
	}
	if (row.unit === 't/h' && mass.unit === 'lb') return { unit: 'lb/hr', factor: 1000 * mass.factor, digits: -2 };
	const q = asQuantity[row.unit];
	if (q) {
		const u = shownAs(q.what, s.facts.field.crop);
		return { unit: u.unit, factor: q.scale * u.factor, digits: u.digits };
	}
	if (row.unit === 'ha/h') {
		const u = shownAs('area', s.facts.field.crop);
		return { unit: u.unit === 'ac' ? 'ac/hr' : 'ha/h', factor: u.factor, digits: 1 };
	}
	return { unit: row.unit, factor: 1, digits: row.unit === '' ? 3 : 1 };
}

/** The comparison from result.json alone, without the full one. */
function Short({ s }: { s: Scene }) {
	const { result, combines, field } = s.facts;
	return (
		<ByCombine
			combines={combines.map((name, combine) => ({ name, combine, r: result.combines[name] }))}
			rows={[
				[
					t.factor,
					({ r }) => (
						<>
							{number(r?.factor?.value, 3)}{' '}
							<span class="soft">({r?.factor ? factorRange(r.factor.interval, numbers) : '–'})</span>
						</>
					),
				],
				[t.corrected, ({ r }) => quantity(r?.corrected_kg, 'mass', field.crop)],
				[t.lag, ({ r }) => `${number(r?.lag_s, 1)} s`],
				[t.flagged, ({ r }) => (r ? `${number((100 * r.flagged) / r.records, 1)}%` : '–')],
			]}
		/>
	);
}

/** Totals of each combine over the whole field; its dry yield differs from that on shared ground. */
function Whole({ s }: { s: Scene }) {
	const { crop } = s.facts.field;
	return (
		<section>
			<h3>{t.whole}</h3>
			<ByCombine
				combines={s.facts.evidence?.comparison?.combines ?? []}
				rows={[
					[t.wholeArea, (c) => quantity(c.area_ha, 'area', crop)],
					[t.wholeWeight, (c) => quantity(c.mass_kg, 'mass', crop)],
					[t.wholeYield, (c) => quantity(c.yield_kg_ha, 'yield', crop)],
					[t.wholeMoisture, (c) => quantity(c.moisture_pct, 'moisture', crop)],
				]}
			/>
		</section>
	);
}

/** A table with a column for each combine. `rows` are labels and what stands under each. */
function ByCombine<C extends { name: string; combine: number }>(props: {
	combines: readonly C[];
	rows: readonly (readonly [label: string, show: (c: C) => ComponentChildren])[];
}) {
	const { combines, rows } = props;
	return (
		<table>
			<Heads of={[t.what, ...combines.map((c) => ({ n: <CombineName combine={c.combine} name={c.name} /> }))]} />
			<tbody>
				{rows.map(([label, show]) => (
					<tr key={label}>
						<th scope="row">{label}</th>
						{combines.map((c) => (
							<td class="n" key={c.name}>
								{show(c)}
							</td>
						))}
					</tr>
				))}
			</tbody>
		</table>
	);
}
