import { computed } from '@preact/signals';
import type { Scene } from '../../../lib/model/index.ts';
import { picker } from '../../map/tools/pick.ts';
import { scene } from '../../state/field.ts';
import { number, shownAs } from '../../state/format.ts';
import { token } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { CombineName } from '../evidence/link.tsx';
import { type Plot, PlotBox } from '../evidence/plot.tsx';

const t = strings.compare;

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

export function Shared({ s }: { s: Scene }) {
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
