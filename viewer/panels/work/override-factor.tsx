import type { FactorForm, Scene } from '../../../lib/model/index.ts';
import { PIN_FORMS } from '../../../lib/model/limits.ts';
import { Check, Select } from '../../inputs.tsx';
import { edits } from '../../state/edits.ts';
import { strings } from '../../strings/index.ts';
import { NumberInput } from './number-input.tsx';
import { canOverride, pin } from './override.ts';

const t = strings.work;

/** Override of each factor's pattern or value. */
export function OverrideFactor({ s }: { s: Scene }) {
	if (!canOverride(s)) return null;
	const set = (name: string, with_: { form?: FactorForm; value?: number }, label: string) =>
		pin(label, (pins) => {
			const f = { ...pins.factors?.[name], ...with_ };
			if (f.form === undefined) delete f.form;
			if (f.value === undefined) delete f.value;
			pins.factors = { ...pins.factors, [name]: f };
			if (Object.keys(f).length === 0) delete pins.factors[name];
			return pins;
		});
	return (
		<details>
			<summary>{t.overruleFactor}</summary>
			<div class="overrule">
				{s.facts.combines.map((name) => {
					const now = edits.value.pins.factors?.[name] ?? {};
					return (
						<div class="row" key={name}>
							<b>{name}</b>
							<label>
								{t.form}
								<Select<FactorForm | ''>
									value={now.form ?? ''}
									options={[['', t.asFound], ...PIN_FORMS.map((f) => [f, strings.evidence.formNames[f]] as const)]}
									set={(chosen) => {
										const form = chosen || undefined;
										set(name, { form }, t.pinnedForm(name, form ? strings.evidence.formNames[form] : t.asFound));
									}}
								/>
							</label>
							<NumberInput
								before={t.ownValue}
								min={0.5}
								max={2}
								value={now.value ?? ''}
								change={(v) => set(name, { value: v > 0 ? v : undefined }, t.pinnedValue(name))}
							/>
						</div>
					);
				})}
				<LevelBySeams s={s} />
			</div>
		</details>
	);
}

/** Offered where no weight determines the level and two combines meet at seams. */
function LevelBySeams({ s }: { s: Scene }) {
	const { combines, seams } = s.facts.result;
	const asked = edits.value.pins.level === 'seams';
	const bare = Object.values(combines).every((c) => c.factor === null);
	if (!asked && !(bare && seams.some((j) => j.pair[0] !== j.pair[1]))) return null;
	return (
		<Check
			label={t.levelBySeams}
			checked={asked}
			set={(on) =>
				pin(on ? t.leveled : t.notLeveled, ({ level: _, ...rest }) => (on ? { ...rest, level: 'seams' } : rest))
			}
		/>
	);
}
