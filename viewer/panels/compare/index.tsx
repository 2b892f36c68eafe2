/** Two or more combines side by side: differences, their intervals and verdicts. */
import { computed } from '@preact/signals';
import '../../style/compare.css';
import type { ComparedRow, Scene } from '../../../lib/model/index.ts';
import { seamSentences } from '../../../lib/units/index.ts';
import { picker } from '../../map/tools/pick.ts';
import { scene } from '../../state/field.ts';
import {
	interval,
	number,
	numbers,
	own,
	type Quantity,
	quantity,
	shownAs,
	signed,
	signedInterval,
} from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { CombineName } from '../evidence/link.tsx';
import { type Plot, PlotBox, token } from '../evidence/plot.tsx';
import { SeamMap } from './seam-map.tsx';

const t = strings.compare;

export function Compare() {
	const s = scene.value;
	if (!s) return <p class="page-text soft">{t.nothing}</p>;
	if (s.facts.combines.length < 2) return <p class="page-text">{t.one}</p>;
	return (
		<div class="compare">
			<header>
				<h2 class="field-name">{t.title(s.facts.field.name)}</h2>
				<Verdict s={s} />
			</header>
			<Table s={s} />
			<div class="compare-ground">
				<SeamMap s={s} />
				<Shared s={s} />
			</div>
			<Advice s={s} />
		</div>
	);
}

/** The pair with the most ground side by side gives the verdict. */
function Verdict({ s }: { s: Scene }) {
	const pairs = s.facts.result.seams;
	const [first] = [...pairs].sort((a, b) => b.length_m - a.length_m);
	if (!first) return <p>{t.noSeam}</p>;
	const corrected = Object.values(s.facts.result.combines).some((c) => c.factor !== null);
	return <p class="verdict">{seamSentences(first, corrected, numbers).join(' ')}</p>;
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
	if (row.unit === 't/h' && mass.unit === 'lb') return { unit: 'lb/hr', factor: 1000 * mass.factor, digits: 0 };
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

function Table({ s }: { s: Scene }) {
	const comparison = s.facts.evidence?.comparison;
	if (!comparison || comparison.pairs.length === 0) return <Short s={s} />;
	const { combines } = s.facts;
	return (
		<>
			{comparison.pairs.map((pair) => (
				// biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard.
				<div class="table-box whole" key={`${pair.combineA}/${pair.combineB}`} tabIndex={0}>
					<table>
						<thead>
							<tr>
								<th scope="col">{t.what}</th>
								<th scope="col" class="n">
									<CombineName combine={pair.combineA} name={combines[pair.combineA]!} />
								</th>
								<th scope="col" class="n">
									<CombineName combine={pair.combineB} name={combines[pair.combineB]!} />
								</th>
								<th scope="col" class="n">
									{t.difference}
								</th>
								<th scope="col" class="n">
									{t.interval}
								</th>
								<th scope="col">{t.verdict}</th>
							</tr>
						</thead>
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
				</div>
			))}
			<Whole s={s} />
		</>
	);
}

/** Totals of each combine over the whole field; its dry yield differs from that on shared ground. */
function Whole({ s }: { s: Scene }) {
	const list = s.facts.evidence?.comparison?.combines ?? [];
	const { crop } = s.facts.field;
	const rows: [string, (c: (typeof list)[number]) => string][] = [
		[t.wholeArea, (c) => quantity(c.area_ha, 'area', crop)],
		[t.wholeWeight, (c) => quantity(c.mass_kg, 'mass', crop)],
		[t.wholeYield, (c) => quantity(c.yield_kg_ha, 'yield', crop)],
		[t.wholeMoisture, (c) => quantity(c.moisture_pct, 'moisture', crop)],
	];
	return (
		<section>
			<h3>{t.whole}</h3>
			<table>
				<thead>
					<tr>
						<th scope="col">{t.what}</th>
						{list.map((c) => (
							<th scope="col" class="n" key={c.name}>
								<CombineName combine={c.combine} name={c.name} />
							</th>
						))}
					</tr>
				</thead>
				<tbody>
					{rows.map(([name, show]) => (
						<tr key={name}>
							<th scope="row">{name}</th>
							{list.map((c) => (
								<td class="n" key={c.name}>
									{show(c)}
								</td>
							))}
						</tr>
					))}
				</tbody>
			</table>
		</section>
	);
}

function Row({ row, s }: { row: ComparedRow; s: Scene }) {
	const { unit, factor, digits } = unitOf(row, s);
	// Values from the worker are null where not known.
	const of = (v: number | null) => number(v === null ? null : v * factor, digits);
	return (
		<tr>
			<th scope="row">
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

/** The comparison from result.json alone, without the full one. */
function Short({ s }: { s: Scene }) {
	const { result, combines, field } = s.facts;
	return (
		<table>
			<thead>
				<tr>
					<th scope="col">{t.what}</th>
					{combines.map((name, c) => (
						<th scope="col" class="n" key={name}>
							<CombineName combine={c} name={name} />
						</th>
					))}
				</tr>
			</thead>
			<tbody>
				<tr>
					<th scope="row">{t.factor}</th>
					{combines.map((name) => {
						const f = result.combines[name]?.factor;
						return (
							<td class="n" key={name}>
								{number(f?.value, 3)} <span class="soft">({interval(f?.interval ?? null, 3)})</span>
							</td>
						);
					})}
				</tr>
				<tr>
					<th scope="row">{t.corrected}</th>
					{combines.map((name) => (
						<td class="n" key={name}>
							{quantity(result.combines[name]?.corrected_kg, 'mass', field.crop)}
						</td>
					))}
				</tr>
				<tr>
					<th scope="row">{t.lag}</th>
					{combines.map((name) => (
						<td class="n" key={name}>
							{number(result.combines[name]?.lag_s, 1)} s
						</td>
					))}
				</tr>
				<tr>
					<th scope="row">{t.flagged}</th>
					{combines.map((name) => {
						const c = result.combines[name];
						return (
							<td class="n" key={name}>
								{c ? `${number((100 * c.flagged) / c.records, 1)}%` : '–'}
							</td>
						);
					})}
				</tr>
			</tbody>
		</table>
	);
}

/** Pairs of yields on both sides of every seam between two combines. */
const sharedGround = computed(() => {
	const s = scene.value;
	if (!s) return [];
	const pick = picker(s);
	const out: { combine: number; before: number; after: number }[] = [];
	const step = 4;
	for (const seam of s.facts.seams) {
		if (seam.combineA === seam.combineB || seam.excluded) continue;
		for (let i = 1; i < seam.line_m.length; i++) {
			const [x0, y0] = seam.line_m[i - 1]!;
			const [x1, y1] = seam.line_m[i]!;
			const length = Math.hypot(x1 - x0, y1 - y0);
			if (!(length > 0)) continue;
			const [nx, ny] = [(y0 - y1) / length, (x1 - x0) / length];
			for (let d = step / 2; d < length; d += step) {
				const [x, y] = [x0 + ((x1 - x0) * d) / length, y0 + ((y1 - y0) * d) / length];
				const sides = [2.5, -2.5].map((o) => pick.at(x + nx * o, y + ny * o));
				// Use only places with both sides, so that the ground is the same.
				if (sides.some((r) => r < 0 || s.flag[r] !== 0)) continue;
				for (const r of sides) {
					out.push({ combine: s.combine[r]!, before: s.monitor_kg_ha[r]!, after: s.corrected_kg_ha[r]! });
				}
			}
		}
	}
	return out;
});

function Shared({ s }: { s: Scene }) {
	const rows = sharedGround.value;
	if (rows.length < 20) return null;
	const y = shownAs('yield', s.facts.field.crop);
	const both = (['before', 'after'] as const).flatMap((when) =>
		rows.map((r) => ({ when: strings.evidence[when], value: r[when] * y.factor, combine: r.combine })),
	);
	const { combines } = s.facts;
	const of = (c: number) => both.filter((r) => r.combine === c);
	/** Share of area by yield, in one panel before and one after correction. */
	const shape = (P: Plot, y: 'y' | 'y2') => ({
		...P.binX({ [y]: 'proportion-facet' }, { x: 'value', thresholds: 40 }),
		fy: 'when',
		curve: 'basis' as const,
	});
	const present = [...new Set(rows.map((r) => r.combine))].sort();
	return (
		<section>
			<h3>{t.distributions}</h3>
			<p class="small soft">{t.distributionsText(y.unit, number(rows.length / 2, 0))}</p>
			<PlotBox
				label={t.distributionsPlot}
				on={rows}
				options={(P) => ({
					height: 260,
					marginLeft: 70,
					fy: { label: null, domain: [strings.evidence.before, strings.evidence.after] },
					x: { label: null, ticks: 6 },
					y: { axis: null },
					marks: [
						...present.map((c) => P.areaY(of(c), { ...shape(P, 'y2'), fill: token(`--c${c % 6}`), fillOpacity: 0.25 })),
						...present.map((c) => P.lineY(of(c), { ...shape(P, 'y'), stroke: token(`--c${c % 6}`), strokeWidth: 2 })),
						P.ruleY([0], { stroke: token('--edge') }),
					],
				})}
			/>
			<p class="small">
				{present.map((c) => (
					<span key={c}>
						<CombineName combine={c} name={combines[c]!} />{' '}
					</span>
				))}
			</p>
		</section>
	);
}

function Advice({ s }: { s: Scene }) {
	const lines = s.facts.evidence?.comparison?.advice ?? [];
	if (lines.length === 0) return null;
	return (
		<section>
			<h3>{t.advice}</h3>
			<ul class="plain-list">
				{lines.map((l) => (
					<li key={l}>{l}</li>
				))}
			</ul>
		</section>
	);
}
