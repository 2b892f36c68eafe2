/** A small map of the seams between combines, colored by their difference. */
import { computed } from '@preact/signals';
import type { Scene } from '../../../lib/model/index.ts';
import { css, diverging } from '../../map/layers/color.ts';
import { SEAM_SPAN } from '../../map/layers/lines.ts';
import { planeOf } from '../../map/layers/plane.ts';
import { hold, lights, scene, shining } from '../../state/field.ts';
import { signed } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';

const paths = computed(() => {
	const s = scene.value;
	if (!s?.facts.outline) return [];
	const plane = planeOf(s.facts.origin);
	const polygons = s.facts.outline.type === 'Polygon' ? [s.facts.outline.coordinates] : s.facts.outline.coordinates;
	return polygons.flatMap((rings) => rings.map((ring) => ring.map((p) => plane.toLocal(p[0]!, p[1]!))));
});

export function SeamMap({ s }: { s: Scene }) {
	const t = strings.compare;
	const seams = s.facts.seams.flatMap((seam, i) => (seam.combineA === seam.combineB ? [] : [{ seam, i }]));
	if (seams.length === 0) return null;
	const all = [...paths.value.flat(), ...seams.flatMap(({ seam }) => seam.line_m)];
	const xs = all.map((p) => p[0]);
	const ys = all.map((p) => p[1]);
	const [x0, y0] = [Math.min(...xs) - 10, Math.min(...ys) - 10];
	const [w, h] = [Math.max(...xs) + 10 - x0, Math.max(...ys) + 10 - y0];
	const path = (places: [number, number][]) =>
		places.map(([x, y], k) => `${k === 0 ? 'M' : 'L'}${x.toFixed(1)} ${y.toFixed(1)}`).join('');
	const l = shining.value;
	const pointed = l?.kind === 'seam' ? s.facts.seams[l.seam] : null;
	return (
		<section>
			<h3>{t.seams}</h3>
			<p class="small soft" aria-live="polite">
				{pointed?.log_jump !== null && pointed?.log_jump !== undefined
					? t.seamJump(
							s.facts.combines[pointed.combineA]!,
							s.facts.combines[pointed.combineB]!,
							signed(100 * (Math.exp(pointed.log_jump) - 1), 1),
						)
					: t.seamsText}
			</p>
			<svg class="seam-map" viewBox={`${x0} ${y0} ${w} ${h}`} role="img" aria-label={t.seamsPlot(seams.length)}>
				{paths.value.map((ring) => (
					<path key={path(ring)} d={path(ring)} fill="none" stroke="currentColor" stroke-width={w / 400} />
				))}
				{seams.map(({ seam, i }) => (
					// biome-ignore lint/a11y/noStaticElementInteractions: the table of seams beside the map offers the same by keyboard.
					<path
						key={i}
						d={path(seam.line_m)}
						fill="none"
						class={l?.kind === 'seam' && l.seam === i ? 'lit' : ''}
						stroke={css(diverging(0.5 + (seam.log_jump ?? 0) / (2 * SEAM_SPAN)))}
						stroke-width={w / 110}
						onPointerEnter={lights({ kind: 'seam', seam: i }).onPointerEnter}
						onPointerLeave={lights({ kind: 'seam', seam: i }).onPointerLeave}
						onClick={() => hold({ kind: 'seam', seam: i })}
					/>
				))}
			</svg>
		</section>
	);
}
