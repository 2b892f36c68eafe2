/** The selection and its totals. */
import { computed } from '@preact/signals';
import { fillLabel } from '../../../lib/units/index.ts';
import { Button } from '../../inputs.tsx';
import { scene, selection } from '../../state/field.ts';
import { flagWords, number, quantity, shownAs, signed } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Facts } from '../../table.tsx';
import { totalsOf } from './totals.ts';

const t = strings.map;

const totals = computed(() => {
	const s = scene.value;
	const chosen = selection.value;
	return s && chosen && chosen.mask.length === s.n ? totalsOf(s, chosen.mask) : null;
});

export function SelectionPanel() {
	const s = scene.value;
	const chosen = selection.value;
	const sum = totals.value;
	if (!s || !chosen || !sum) return null;
	const crop = s.facts.field.crop;
	const y = shownAs('yield', crop);
	const g = shownAs('grain', crop);
	return (
		<section class="selection" aria-label={t.selection}>
			<div class="legend-head">
				<h2>{t.selected(chosen.label)}</h2>
				<Button class="plain" onClick={() => (selection.value = null)} text={t.clear} />
			</div>
			<Facts
				of={[
					[
						t.layers.yield,
						<>
							<b class="numeral">{number(sum.yield_kg_ha * y.factor, y.digits)}</b> ±{' '}
							{number(sum.half_kg_ha * y.factor, y.digits)} {y.unit}
						</>,
					],
					[
						t.dryGrain,
						`${number(sum.dry_kg * g.factor, g.digits)} ± ${number(sum.dry_kg * sum.half_rel * g.factor, g.digits)} ${g.unit}`,
					],
					[t.change, `${signed(100 * (sum.dry_kg / sum.monitor_dry_kg - 1), 1)}%`],
					[t.area, quantity(sum.area_ha, 'area', crop)],
					[t.layers.moisture, quantity(sum.moisture_pct, 'moisture', crop)],
					[t.records, number(sum.records, 0)],
				]}
			/>
		</section>
	);
}

/** Selection by name: a combine, a fill, a flag. */
export function SelectBy(props: { choose: (kind: 'combine' | 'fill' | 'flag', index: number, label: string) => void }) {
	const s = scene.value;
	if (!s) return null;
	const flags = [...new Set(s.flag)].sort((a, b) => a - b);
	return (
		<label>
			<span class="visually-hidden">{t.selectBy}</span>
			<select
				value=""
				onChange={(e) => {
					const [kind, index] = e.currentTarget.value.split(':') as ['combine' | 'fill' | 'flag', string];
					const label = e.currentTarget.selectedOptions[0]?.textContent ?? '';
					e.currentTarget.value = '';
					props.choose(kind, Number(index), label);
				}}
			>
				<option value="">{t.selectBy}</option>
				<optgroup label={t.combine}>
					{s.facts.combines.map((name, i) => (
						<option key={name} value={`combine:${i}`}>
							{t.combine} {name}
						</option>
					))}
				</optgroup>
				<optgroup label={t.fill}>
					{s.facts.fills.map((name, i) => (
						<option key={name} value={`fill:${i}`}>
							{fillLabel(name, s.facts.combines)}
						</option>
					))}
				</optgroup>
				<optgroup label={t.layers.flag}>
					{flags.map((f) => {
						const word = s.facts.flags[f] ?? '';
						return (
							<option key={word} value={`flag:${f}`}>
								{flagWords(word)}
							</option>
						);
					})}
				</optgroup>
			</select>
		</label>
	);
}
