/** How a combine's interval narrows with each load: the band of the running error, one dot per load, the tolerance behind. */
import { errorOf_pct, type RunningFactor } from '../../../lib/book/index.ts';
import { number } from '../../state/format.ts';
import { tolerance } from '../model/advice.ts';
import { allCombines } from '../model/state.ts';
import { nameOfThing, pct, range, t } from '../model/words.ts';

/** Height of a line of text. */
const TEXT = 11;
const [W, H, LEFT, RIGHT, TOP, BOTTOM] = [360, 132, 34, 12, 10, 18];

export function Band({ factor }: { factor: RunningFactor }) {
	const { points, course, combine, n: loads, error_pct, errorInterval_pct } = factor;
	const tolerance_pct = tolerance();
	const color = allCombines.value.findIndex((c) => c.id === combine);
	const label = t.bandLabel(nameOfThing(combine), loads, pct(error_pct), range(errorInterval_pct));
	const n = Math.max(points.length, 6);
	// A dump that is clearly wrong lies at the edge: it would flatten all others.
	const errors = points.filter((p) => !p.wrong).map((p) => p.error_pct);
	const ends = course.flatMap((c) => [errorOf_pct(c.high), c.low > 0 ? errorOf_pct(c.low) : 1e3]);
	// The first intervals are too wide to read: the plot covers the range of the loads, the tolerance and the last interval.
	const last = (errorInterval_pct ?? []).map((e) => Math.min(50, Math.abs(e)));
	const reach = Math.max(1.6 * tolerance_pct, ...errors.map((e) => 1.6 * Math.abs(e)), ...last);
	const near = ends.map((e) => Math.max(-reach, Math.min(reach, e)));
	const high = Math.max(1.3 * tolerance_pct, ...errors, ...near) * 1.08;
	const low = Math.min(-1.3 * tolerance_pct, ...errors, ...near) * 1.08;
	const x = (i: number) => LEFT + ((i + 0.5) / n) * (W - LEFT - RIGHT);
	const y = (e: number) => TOP + ((high - Math.max(low, Math.min(high, e))) / (high - low)) * (H - TOP - BOTTOM);
	const band = course.map((c) => ({
		x: x(c.load),
		top: y(c.low > 0 ? errorOf_pct(c.low) : 1e3),
		bottom: y(errorOf_pct(c.high)),
	}));
	const polygon = [...band.map((b) => `${b.x},${b.top}`), ...[...band].reverse().map((b) => `${b.x},${b.bottom}`)].join(
		' ',
	);
	const line = course.map((c) => `${x(c.load)},${y(errorOf_pct(c.value))}`).join(' ');
	const apart = (v: number) => Math.abs(y(v) - y(0)) >= TEXT;
	// Where the tolerance is too narrow on this scale for its labels, the ends of the scale have them.
	const ends_pct = apart(tolerance_pct) ? [tolerance_pct, -tolerance_pct] : [Math.trunc(high), Math.trunc(low)];
	const ticks = [0, ...ends_pct.filter(apart)];
	const latest = points.length - 1;
	return (
		<svg class={`band c${color % 6}`} viewBox={`0 0 ${W} ${H}`} role="img" aria-label={label}>
			<rect
				class="tolerance"
				x={LEFT}
				width={W - LEFT - RIGHT}
				y={y(tolerance_pct)}
				height={y(-tolerance_pct) - y(tolerance_pct)}
			/>
			<line class="zero" x1={LEFT} x2={W - RIGHT} y1={y(0)} y2={y(0)} />
			{ticks.map((v) => (
				<text key={v} class="tick" x={LEFT - 5} y={y(v) + 4} text-anchor="end">
					{v === 0 ? '0' : `${v > 0 ? '+' : '−'}${number(Math.abs(v), Number.isInteger(v) ? 0 : 1)}`}
				</text>
			))}
			<text class="tick" x={W - RIGHT} y={H - 4} text-anchor="end">
				{t.loadsAxis}
			</text>
			{band.length > 1 && <polygon class="reach" points={polygon} />}
			{band.length > 0 && (
				<line
					class="reach-end"
					x1={band.at(-1)!.x}
					x2={band.at(-1)!.x}
					y1={band.at(-1)!.top}
					y2={band.at(-1)!.bottom}
				/>
			)}
			<polyline class="course" points={line} />
			{points.map((p, i) => (
				<circle
					key={p.dumps.join()}
					class={i === latest ? 'dot latest' : p.shared ? 'dot shared' : 'dot'}
					cx={x(i)}
					cy={y(p.error_pct)}
					r={i === latest ? 5 : 3}
				/>
			))}
		</svg>
	);
}
