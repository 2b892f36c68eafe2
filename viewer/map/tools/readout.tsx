/** Values of the record under the pointer. */
import { tankLoad } from '../../../lib/units/index.ts';
import { lit, scene } from '../../state/field.ts';
import { clockTime, number, quantity, quantityRange, shownAs, signed } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';

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
	const zone = s?.facts.contours[props.contour]?.properties;
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
	const v = shownAs('speed', crop);
	const after = s.corrected_kg_ha[i]!;
	const monitor = s.monitor_kg_ha[i]!;
	const flag = facts.flags[s.flag[i]!] ?? '';
	return (
		<section class="readout" aria-label={t.readout}>
			<dl>
				<div>
					<dt>{t.combine}</dt>
					<dd>{facts.combines[s.combine[i]!]}</dd>
				</div>
				<div>
					<dt>{t.time}</dt>
					<dd>{clockTime(s.time_s[i]!, facts.field.timeZone)}</dd>
				</div>
				<div>
					<dt>{t.fill}</dt>
					<dd>{s.fill[i]! < 0 ? '–' : tankLoad(facts.fills[s.fill[i]!]!, facts.combines)}</dd>
				</div>
				<div>
					<dt>{t.asRecorded}</dt>
					<dd>{number(monitor * y.factor, y.digits)}</dd>
				</div>
				<div class="strong">
					<dt>{t.corrected}</dt>
					<dd>
						{number(after * y.factor, y.digits)}{' '}
						<span class="soft">± {number(1.96 * s.u_rel[i]! * after * y.factor, y.digits)} (95%)</span> {y.unit}
					</dd>
				</div>
				<div>
					<dt>{t.change}</dt>
					<dd>{Number.isFinite(after / monitor) ? `${signed(100 * (after / monitor - 1), 1)}%` : '–'}</dd>
				</div>
				<div>
					<dt>{t.layers.moisture}</dt>
					<dd>{quantity(s.moisture_pct[i]!, 'moisture', crop)}</dd>
				</div>
				<div>
					<dt>{t.layers.speed}</dt>
					<dd>
						{number(s.speed_m_s[i]! * v.factor, v.digits)} {v.unit}
					</dd>
				</div>
				{props.cell >= 0 && (
					<div>
						<dt>{t.cell}</dt>
						<dd>
							{number(s.gridYield_kg_ha[props.cell]! * y.factor, y.digits)}{' '}
							<span class="soft">± {number(1.96 * s.gridSe_kg_ha[props.cell]! * y.factor, y.digits)} (95%)</span>
						</dd>
					</div>
				)}
				{zoneRange && (
					<div>
						<dt>{t.contours}</dt>
						<dd>{zoneRange}</dd>
					</div>
				)}
				<div>
					<dt>{t.mapped}</dt>
					<dd class={flag ? 'warn' : ''}>
						{flag === '' ? t.flags[''] : (t.flags[flag as keyof typeof t.flags] ?? flag)}
					</dd>
				</div>
			</dl>
		</section>
	);
}
