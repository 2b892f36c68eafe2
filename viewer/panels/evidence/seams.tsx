/** Fifth step: neighboring passes of different combines, before and after correction. */
import type { Result, Scene } from '../../../lib/model/index.ts';
import { seamSentences, shows } from '../../../lib/units/index.ts';
import type { Lit } from '../../state/field.ts';
import { numbers, quantity, signed, signedInterval } from '../../state/format.ts';
import { token } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { Heads } from '../../table.tsx';
import { Link, LitRow } from './link.tsx';
import { PlotBox, room } from './plot.tsx';

const t = strings.evidence;

type Jump = Result['seams'][number];

const nameOf = (seam: Jump) => seam.pair.join(' / ');

export function Seams({ s }: { s: Scene }) {
	const { result, combines } = s.facts;
	const jumps = result.seams;
	if (jumps.length === 0) {
		return <Link id="seams" name={t.seams} verdict={combines.length > 1 ? t.noSeams : t.oneCombine} />;
	}
	const widest = jumps.reduce((a, b) => (b.length_m > a.length_m ? b : a));
	const remains = shows(widest.after_interval);
	const corrected = Object.values(result.combines).some((c) => c.factor !== null);
	return (
		<Link
			id="seams"
			name={t.seams}
			tone={remains ? 'warn' : undefined}
			verdict={seamSentences(widest, corrected, numbers).join(' ')}
			figure={{
				value: `${signed(widest.after_pct, 1)}%`,
				interval: t.interval95(`${signedInterval(widest.after_interval, 1)}%`),
			}}
			tableName={t.seamTable}
			table={<SeamTable s={s} />}
		>
			<SeamPlot s={s} />
		</Link>
	);
}

function SeamTable({ s }: { s: Scene }) {
	const { result, combines, field, seams } = s.facts;
	const pairOf = ({ pair: [a, b] }: Jump): Lit => ({ kind: 'pair', a: combines.indexOf(a), b: combines.indexOf(b) });
	return (
		<table>
			<Heads of={[t.pair, { n: t.before }, { n: t.after }, { n: t.moistureDiff }, { n: t.length }]} />
			<tbody>
				{result.seams.map((j) => (
					<LitRow key={nameOf(j)} what={pairOf(j)} name={nameOf(j)}>
						<td class="n">
							{signed(j.before_pct, 1)}% <span class="soft">({signedInterval(j.before_interval, 1)})</span>
						</td>
						<td class="n">
							{signed(j.after_pct, 1)}% <span class="soft">({signedInterval(j.after_interval, 1)})</span>
						</td>
						<td class="n">{signed(j.moisture_diff_pct, 1)}</td>
						<td class="n">{quantity(j.length_m, 'length', field.crop, 0)}</td>
					</LitRow>
				))}
				{seams.map((seam, i) =>
					seam.combineA === seam.combineB ? null : (
						<LitRow key={`${i}`} what={{ kind: 'seam', seam: i }} name={t.seam(i + 1)}>
							<td class="n">{seam.log_jump === null ? '–' : `${signed(100 * (Math.exp(seam.log_jump) - 1), 1)}%`}</td>
							<td colSpan={2}>{seam.excluded ?? ''}</td>
							<td class="n">{quantity(seam.length_m, 'length', field.crop, 0)}</td>
						</LitRow>
					),
				)}
			</tbody>
		</table>
	);
}

/** Each pair of combines before and after, and below it the blocks that its first figure is of. */
function SeamPlot({ s }: { s: Scene }) {
	const { result, combines, evidence } = s.facts;
	const rows = result.seams.flatMap((j) => [
		{ row: `${nameOf(j)} ${t.before}`, value: j.before_pct, range: j.before_interval, after: false },
		{ row: `${nameOf(j)} ${t.after}`, value: j.after_pct, range: j.after_interval, after: true },
	]);
	const blocks = (evidence?.jumps ?? []).flatMap((jump) =>
		jump.blocks.map((b) => ({
			row: `${combines[jump.combineA]} / ${combines[jump.combineB]} ${t.before}`,
			value: 100 * (Math.exp(b.log_jump) - 1),
			seam: b.seam,
		})),
	);
	return (
		<PlotBox
			label={t.seamPlot}
			on={s}
			dots={blocks.map((b) => ({ kind: 'seam', seam: b.seam }))}
			options={(P) => ({
				height: 30 + 24 * rows.length,
				marginLeft: room(rows.map((r) => r.row)),
				marginRight: 12,
				marginTop: 6,
				marginBottom: 24,
				x: { label: null, ticks: 5, nice: true, grid: true, tickFormat: (v: number) => `${signed(v, 0)}%` },
				y: { label: null, domain: rows.map((r) => r.row), tickSize: 0 },
				marks: [
					P.ruleX([0], { stroke: token('--edge'), strokeDasharray: '2,2' }),
					P.dot(blocks, { y: 'row', x: 'value', r: 2.5, fill: token('--soft'), fillOpacity: 0.5, className: 'dots' }),
					P.ruleY(rows, {
						y: 'row',
						x1: (r) => r.range[0],
						x2: (r) => r.range[1],
						stroke: (r) => token(r.after ? '--good' : '--warn'),
						strokeWidth: 5,
					}),
					P.dot(rows, {
						y: 'row',
						x: 'value',
						r: 4,
						fill: token('--sheet'),
						stroke: (r) => token(r.after ? '--good' : '--warn'),
						strokeWidth: 2,
					}),
				],
			})}
		/>
	);
}
