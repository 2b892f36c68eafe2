/** What the record under the pointer says. */
import { lit, scene } from '../../state/field.ts';
import { clockTime, number, quantity, shownAs, signed } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';

export function ReadOut(props: { record: number; cell: number }) {
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
	if (!s || props.record < 0) {
		return (
			<section class="readout" aria-label={t.readout}>
				<p class="soft">{t.pointAtGround}</p>
			</section>
		);
	}
	const i = props.record;
	const { facts } = s;
	const crop = facts.field.crop;
	const y = shownAs('yield', crop);
	const m = shownAs('moisture', crop);
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
					<dd>{s.fill[i]! < 0 ? '–' : facts.fills[s.fill[i]!]}</dd>
				</div>
				<div>
					<dt>{t.asRecorded}</dt>
					<dd>{number(monitor * y.factor, y.digits)}</dd>
				</div>
				<div class="strong">
					<dt>{t.corrected}</dt>
					<dd>
						{number(after * y.factor, y.digits)}{' '}
						<span class="soft">± {number(1.96 * s.u_rel[i]! * after * y.factor, y.digits)}</span> {y.unit}
					</dd>
				</div>
				<div>
					<dt>{t.change}</dt>
					<dd>{signed(100 * (after / monitor - 1), 1)} %</dd>
				</div>
				<div>
					<dt>{t.layers.moisture}</dt>
					<dd>
						{number(s.moisture_pct[i]!, m.digits)} {m.unit}
					</dd>
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
							<span class="soft">± {number(1.96 * s.gridSe_kg_ha[props.cell]! * y.factor, y.digits)}</span>
						</dd>
					</div>
				)}
				<div>
					<dt>{t.layers.flag}</dt>
					<dd class={flag ? 'warn' : ''}>
						{flag === '' ? t.flags[''] : (t.flags[flag as keyof typeof t.flags] ?? flag)}
					</dd>
				</div>
			</dl>
		</section>
	);
}
