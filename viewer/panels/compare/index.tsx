/** Two or more combines side by side: what differs, by how much, and whether it is more than chance. */
import { computed } from '@preact/signals';
import '../../style/compare.css';
import type { ComparedRow, Scene } from '../../../lib/model/index.ts';
import { picker } from '../../map/tools/pick.ts';
import { scene } from '../../state/field.ts';
import { interval, number, type Quantity, quantity, shownAs, signed } from '../../state/format.ts';
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

/** The pair with most ground side by side says the verdict. */
function Verdict({ s }: { s: Scene }) {
	const pairs = s.facts.result.seams;
	const [first] = [...pairs].sort((a, b) => b.length_m - a.length_m);
	if (!first) return <p>{t.noSeam}</p>;
	const [a, b] = first.pair;
	const real = first.before_interval[0] > 0 || first.before_interval[1] < 0;
	const agrees = first.after_interval[0] <= 0 && first.after_interval[1] >= 0;
	return (
		<p class="verdict">
			{real
				? t.readsMore(
						first.before_pct > 0 ? a : b,
						first.before_pct > 0 ? b : a,
						number(Math.abs(first.before_pct), 1),
						interval(abs(first.before_interval), 1),
					)
				: t.readsSame(a, b)}{' '}
			{agrees ? t.nowAgree : t.stillDiffer(signed(first.after_pct, 1))}
		</p>
	);
}

const abs = ([x, y]: [number, number]): [number, number] => (x < 0 && y <= 0 ? [-y, -x] : [x, y]);

/** How a row's unit is shown: a quantity of the page's units, or its own sign. */
const asQuantity: Partial<Record<ComparedRow['unit'], { what: Quantity; scale: number }>> = {
	'kg/ha': { what: 'yield', scale: 1 },
	'm/s': { what: 'speed', scale: 1 },
	't/h': { what: 'throughput', scale: 1000 / 3600 },
};

/** The unit of a row as it is shown now: its sign, what a value is multiplied by, digits. */
function unitOf(row: ComparedRow, s: Scene): { unit: string; factor: number; digits: number } {
	const q = asQuantity[row.unit];
	if (q) {
		const u = shownAs(q.what, s.facts.field.crop);
		return { unit: u.unit, factor: q.scale * u.factor, digits: u.digits };
	}
	if (row.unit === 'ha/h') {
		const u = shownAs('area', s.facts.field.crop);
		return { unit: `${u.unit}/h`, factor: u.factor, digits: 2 };
	}
	return { unit: row.unit, factor: 1, digits: row.unit === '' ? 4 : 1 };
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
							{r}
						</p>
					))}
				</div>
			))}
		</>
	);
}

function Row({ row, s }: { row: ComparedRow; s: Scene }) {
	const { unit, factor, digits } = unitOf(row, s);
	const of = (v: number) => (Number.isFinite(v) ? number(v * factor, digits) : '');
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
				{signed(row.interval[0] * factor, digits)} … {signed(row.interval[1] * factor, digits)}
			</td>
			<td class={row.certain ? 'sure' : 'soft'}>{row.verdict}</td>
		</tr>
	);
}

/** Without the full comparison: what result.json says. */
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
								{number(f?.value, 4)} <span class="soft">({interval(f?.interval ?? null, 4)})</span>
							</td>
						);
					})}
				</tr>
				<tr>
					<th scope="row">{t.corrected}</th>
					{combines.map((name) => (
						<td class="n" key={name}>
							{quantity(result.combines[name]?.corrected_kg, 'grain', field.crop)}
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
								{c ? `${number((100 * c.flagged) / c.records, 1)} %` : '–'}
							</td>
						);
					})}
				</tr>
			</tbody>
		</table>
	);
}

/** Yields on both sides of every seam between two combines, place by place. */
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
				// Both sides or none, or the ground would not be the same.
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
	/** Shares of ground by yield, one panel before and one after. */
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
