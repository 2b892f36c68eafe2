/** Values of the record under the pointer. */
import { tankLoad } from '../../../lib/units/index.ts';
import { lit, scene } from '../../state/field.ts';
import { clockTime, flagWords, number, quantity, quantityRange, shownAs, signed } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Facts } from '../../table.tsx';
import { contours } from '../contours.ts';

export function ReadOut(props: { record: number; cell: number; contour: number }) {
	const s = scene.value;
	const t = strings.map;
	const pointed = lit.value;
	const seam = pointed?.kind === 'seam' ? s?.facts.seams[pointed.seam] : null;
	if (s && seam) {
		return (
			<section class="readout" aria-label={t.readout}>
				<p>
					{t.seamBetween(
						s.facts.combines[seam.combineA]!,
						s.facts.combines[seam.combineB]!,
						seam.log_jump === null ? null : signed(100 * (Math.exp(seam.log_jump) - 1), 1),
						quantity(seam.length_m, 'length', s.facts.field.crop, 0),
					)}
				</p>
			</section>
		);
	}
	const zone = contours.value[props.contour]?.properties;
	const zoneRange = s && zone ? quantityRange([zone.from_kg_ha, zone.to_kg_ha], 'yield', s.facts.field.crop) : null;
	const zoneText = zoneRange && t.contourAt(zoneRange);
	if (!s || props.record < 0) {
		return (
			<section class="readout" aria-label={t.readout}>
				<p class="soft">{zoneText ?? t.pointAtGround}</p>
			</section>
		);
	}
	const i = props.record;
	const { facts } = s;
	const crop = facts.field.crop;
	const y = shownAs('yield', crop);
	const within = (yield_kg_ha: number, u_kg_ha: number) => (
		<>
			{number(yield_kg_ha * y.factor, y.digits)}{' '}
			<span class="soft">± {number(1.96 * u_kg_ha * y.factor, y.digits)} (95%)</span>
		</>
	);
	const after = s.corrected_kg_ha[i]!;
	const monitor = s.monitor_kg_ha[i]!;
	const flag = facts.flags[s.flag[i]!] ?? '';
	return (
		<section class="readout" aria-label={t.readout}>
			<Facts
				of={[
					[t.combine, facts.combines[s.combine[i]!]],
					[t.time, clockTime(s.time_s[i]!, facts.field.timeZone)],
					[t.fill, s.fill[i]! < 0 ? '–' : tankLoad(facts.fills[s.fill[i]!]!, facts.combines)],
					[t.asRecorded, number(monitor * y.factor, y.digits)],
					[
						t.corrected,
						<>
							{within(after, s.u_rel[i]! * after)} {y.unit}
						</>,
						'strong',
					],
					[t.change, Number.isFinite(after / monitor) ? `${signed(100 * (after / monitor - 1), 1)}%` : '–'],
					[t.layers.moisture, quantity(s.moisture_pct[i]!, 'moisture', crop)],
					[t.layers.speed, quantity(s.speed_m_s[i]!, 'speed', crop)],
					props.cell >= 0 ? [t.cell, within(s.gridYield_kg_ha[props.cell]!, s.gridSe_kg_ha[props.cell]!)] : null,
					zoneRange ? [t.contours, zoneRange] : null,
					[t.mapped, <span class={flag ? 'warn' : ''}>{flagWords(flag)}</span>],
				]}
			/>
		</section>
	);
}
