/** Inputs for the values of a row. */
import type { MonitorSetup } from '../../../lib/book/index.ts';
import { Button, Check } from '../../inputs.tsx';
import { usualMonitor } from '../model/acts.ts';
import { shapeOf, shownValue } from '../model/shapes.ts';
import { allCombines, fields } from '../model/state.ts';
import { t } from '../model/words.ts';
import { Box, Menu } from './parts.tsx';
import { MonitorChoices } from './sheets.tsx';

export function Write(props: { name: string; form: { value: Record<string, string> } }) {
	const { name, form } = props;
	const value = form.value[name] ?? '';
	const set = (v: string) => (form.value = { ...form.value, [name]: v });
	const label = t.columns[name] ?? name;
	const { input, unit, options, needed } = shapeOf(name);
	if (input === 'flag')
		return <Check label={label} checked={value === 'yes'} set={(checked) => set(checked ? 'yes' : 'no')} />;
	if (input === 'combines') {
		const chosen = value === '' ? [] : value.split(' ');
		return (
			<fieldset class="box">
				<legend>{label}</legend>
				<div class="pick">
					{allCombines.value.map((x) => (
						<Button
							key={x.id}
							aria-pressed={chosen.includes(x.id)}
							onClick={() =>
								set((chosen.includes(x.id) ? chosen.filter((y) => y !== x.id) : [...chosen, x.id]).join(' '))
							}
							text={x.v.name}
						/>
					))}
				</div>
			</fieldset>
		);
	}
	if (input === 'split') return <Split value={value} set={set} />;
	if (input === 'monitor') {
		const m = value === '' ? usualMonitor() : (JSON.parse(value) as MonitorSetup);
		return (
			<fieldset class="box whole">
				<legend>{t.columns.monitor}</legend>
				<MonitorChoices value={m} set={(x) => set(JSON.stringify(x))} />
			</fieldset>
		);
	}
	if (options) {
		const listed = options();
		const known = listed.some(([key]) => key === value);
		const others = !needed ? [['', '–'] as const] : known ? [] : [[value, shownValue(name, value)] as const];
		return <Menu label={label} value={value} options={[...others, ...listed]} set={set} />;
	}
	return (
		<Box
			label={label}
			name={name}
			value={value}
			set={set}
			unit={unit?.()}
			numeric={input === 'number'}
			type={input === 'time' ? 'datetime-local' : undefined}
		/>
	);
}

/** Grain of a second field in one dump: which field, and its share by weight. Stored as "field share". */
function Split(props: { value: string; set: (v: string) => void }) {
	const [other = '', share = ''] = props.value.split(' ');
	if (fields.value.length < 2) return null;
	return (
		<div class="split">
			<Menu
				label={t.alsoOf}
				value={other}
				options={[['', '–'], ...fields.value.map((f) => [f.id, f.v.name] as const)]}
				set={(id) => props.set(id === '' ? '' : `${id} ${share || '50'}`)}
			/>
			{other !== '' && (
				<Box label={t.itsShare} unit="%" numeric value={share} set={(v) => props.set(`${other} ${v.trim()}`)} />
			)}
		</div>
	);
}
