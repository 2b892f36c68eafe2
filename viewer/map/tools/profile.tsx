/** Yield along a line, before and after, with its uncertainty. */

import { Button } from '../../inputs.tsx';
import { PlotBox } from '../../panels/evidence/plot.tsx';
import { scene } from '../../state/field.ts';
import { shownAs } from '../../state/format.ts';
import { token } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { profile } from './tools.ts';

const t = strings.map;

const NOTHING = { before: Number.NaN, after: Number.NaN, low: Number.NaN, high: Number.NaN };

/** Inserts an empty row in gaps between records, so that no line is drawn where nothing was measured. */
function withGaps<R extends { x: number; record: number } & typeof NOTHING>(rows: R[]): (R | typeof BREAK)[] {
	const steps = rows.slice(1).map((r, i) => r.x - rows[i]!.x);
	const usual = [...steps].sort((a, b) => a - b)[steps.length >> 1] ?? 0;
	return rows.flatMap((r, i) => {
		const gap = i > 0 && steps[i - 1]! > FAR * usual;
		return gap ? [{ ...BREAK, x: (r.x + rows[i - 1]!.x) / 2 }, r] : [r];
	});
}

/** Rows more than this many usual steps apart have a gap between them. */
const FAR = 4;
const BREAK = { x: 0, ...NOTHING, record: -1 };

export function Profile() {
	const s = scene.value;
	const p = profile.value;
	if (!s || !p) return null;
	const y = shownAs('yield', s.facts.field.crop);
	const d = shownAs('length', s.facts.field.crop);
	const rows = p.points
		.filter(({ record }) => record < s.n)
		.map(({ at_m, record }) => {
			// Records left off the map break the line.
			if (s.flag[record] !== 0) return { x: at_m * d.factor, ...NOTHING, record };
			const after = s.corrected_kg_ha[record]! * y.factor;
			return {
				x: at_m * d.factor,
				before: s.monitor_kg_ha[record]! * y.factor,
				after,
				low: after * (1 - 1.96 * s.u_rel[record]!),
				high: after * (1 + 1.96 * s.u_rel[record]!),
				record,
			};
		});
	const measured = rows.filter((r) => Number.isFinite(r.after));
	const drawn = withGaps(rows);
	return (
		<section class="profile" aria-label={t.profile}>
			<div class="legend-head">
				<h2>
					{p.label} <span class="soft">{t.profileKey(y.unit, d.unit)}</span>
				</h2>
				<Button class="plain" onClick={() => (profile.value = null)} text={t.clear} />
			</div>
			<PlotBox
				label={t.profilePlot}
				on={p}
				dots={measured.map((r) => ({ kind: 'record', record: r.record }))}
				options={(P) => ({
					height: 130,
					marginLeft: 40,
					marginRight: 10,
					marginTop: 8,
					marginBottom: 22,
					x: { label: null, ticks: 8 },
					y: { label: null, ticks: 4, grid: true, zero: false },
					marks: [
						P.areaY(drawn, { x: 'x', y1: 'low', y2: 'high', fill: token('--accent'), fillOpacity: 0.15 }),
						P.lineY(drawn, { x: 'x', y: 'before', stroke: token('--warn'), strokeDasharray: '3,2', strokeWidth: 1.2 }),
						P.lineY(drawn, { x: 'x', y: 'after', stroke: token('--accent'), strokeWidth: 1.6 }),
						P.dot(measured, { x: 'x', y: 'after', r: 2, fill: token('--accent'), className: 'dots' }),
					],
				})}
			/>
		</section>
	);
}
