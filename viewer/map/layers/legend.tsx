/** The legend: colors with units and area by value; its breaks can be dragged. */
import { fillLabel } from '../../../lib/units/index.ts';
import { scene } from '../../state/field.ts';
import { flagWords, number, shownAs, signed } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { contours as zones } from '../contours.ts';
import { before, breaks, categoryColors, layer, overlays, swipe, values } from '../state.ts';
import { css, diverging } from './color.ts';
import { Scale, unitOf } from './legend-scale.tsx';
import { SEAM_SPAN } from './lines.ts';

const t = strings.map;

export function Legend() {
	const s = scene.value;
	if (!s) return null;
	const l = layer.value;
	return (
		<section class="legend" aria-label={t.legend}>
			<div class="legend-head">
				<h2>
					{t.layers[l.id]}
					{l.scale === 'categorical' ? '' : <span class="soft">, {unitOf().unit}</span>}
				</h2>
				{l.before && swipe.value === null && (
					<span class={before.value ? 'stamp warn' : 'stamp'}>{before.value ? t.asRecorded : t.corrected}</span>
				)}
			</div>
			{l.scale === 'categorical' ? <Kinds /> : <Scale />}
			{l.error && <p class="small soft">{t.errorKeys[l.id]}</p>}
			<LineKeys />
		</section>
	);
}

/** A category's name for people. */
export function nameOf(layerId: string, name: string, combines: readonly string[]): string {
	if (layerId === 'flag') return flagWords(name);
	return layerId === 'fill' ? fillLabel(name, combines) : name;
}

function Kinds() {
	const s = scene.value!;
	const l = layer.value;
	const names = l.categories!(s);
	const v = values.value!.after;
	const area = new Float64Array(names.length);
	for (let i = 0; i < s.n; i++) if (Number.isFinite(v[i]!) && s.area_m2[i]! > 0) area[v[i]!]! += s.area_m2[i]! / 10_000;
	const list = [...names.keys()].filter((k) => area[k]! > 0);
	const unit = shownAs('area', s.facts.field.crop);
	return (
		// biome-ignore lint/a11y/noNoninteractiveTabindex: a list that scrolls must be reachable by keyboard.
		<ul class="kinds" tabIndex={0} aria-label={t.layers[l.id]}>
			{list.map((k) => (
				<li key={k}>
					<svg width="14" height="14" aria-hidden="true">
						<rect width="14" height="14" fill={css(categoryColors.value[k % categoryColors.value.length]!)} />
					</svg>
					<span>{nameOf(l.id, names[k]!, s.facts.combines)}</span>
					<span class="n soft">
						{number(area[k]! * unit.factor, unit.digits)} {unit.unit}
					</span>
				</li>
			))}
		</ul>
	);
}

/** Legend of the lines on top: seams by their difference, contours by their yields. */
function LineKeys() {
	const s = scene.value!;
	const { seams, contours } = overlays.value;
	const unit = shownAs('yield', s.facts.field.crop);
	const levels = zones.value.slice(1).map((f) => f.properties.from_kg_ha * unit.factor);
	return (
		<>
			{seams && (
				<div class="small line-key">
					<p>{t.seamKey}</p>
					<svg viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true">
						{Array.from({ length: 50 }, (_, i) => (
							<rect key={i} x={2 * i} width={2.1} height={6} fill={css(diverging((i + 0.5) / 50))} />
						))}
					</svg>
					<p class="ends">
						<span>{signed(100 * (Math.exp(-SEAM_SPAN) - 1), 0)}%</span>
						<span>0%</span>
						<span>{signed(100 * (Math.exp(SEAM_SPAN) - 1), 0)}%</span>
					</p>
				</div>
			)}
			{contours && levels.length > 0 && (
				<p class="small line-key">
					{t.contourKey}:{' '}
					{levels.map((v) => number(v, levels.length > 1 && levels[1]! - levels[0]! < 1 ? 1 : 0)).join(', ')}{' '}
					{unit.unit}
				</p>
			)}
		</>
	);
}

/** The scale as numbers, for a picture of the map. */
export function legendTicks() {
	const b = breaks.value;
	const { unit, factor, digits } = unitOf();
	return { low: b[0]!, high: b.at(-1)!, ticks: b, unit, factor, digits: Math.min(1, digits) };
}
