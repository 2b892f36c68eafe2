/** Inputs for the values of a row. */
import type { MonitorSetup } from '../../../lib/book/index.ts';
import { usualMonitor } from '../model/acts.ts';
import type { Column } from '../model/columns.ts';
import { optionsOf, shownValue, unitOf } from '../model/shapes.ts';
import { allCombines, fields } from '../model/state.ts';
import { t } from '../model/words.ts';
import { Box, Menu } from './parts.tsx';
import { MonitorChoices } from './sheets.tsx';

export function Write(props: { column: Column; form: { value: Record<string, string> } }) {
	const { column: c, form } = props;
	const value = form.value[c.key] ?? '';
	const set = (v: string) => (form.value = { ...form.value, [c.key]: v });
	const label = t.columns[c.key] ?? c.key;
	if (c.shape === 'flag')
		return (
			<label class="check">
				<input
					type="checkbox"
					checked={value === 'yes'}
					onChange={(e) => set(e.currentTarget.checked ? 'yes' : 'no')}
				/>
				<span>{label}</span>
			</label>
		);
	if (c.shape === 'combines') {
		const chosen = value === '' ? [] : value.split(' ');
		return (
			<fieldset class="box">
				<legend>{label}</legend>
				<div class="pick">
					{allCombines.value.map((x) => (
						<button
							key={x.id}
							type="button"
							aria-pressed={chosen.includes(x.id)}
							onClick={() =>
								set((chosen.includes(x.id) ? chosen.filter((y) => y !== x.id) : [...chosen, x.id]).join(' '))
							}
						>
							{x.v.name}
						</button>
					))}
				</div>
			</fieldset>
		);
	}
	if (c.shape === 'split') return <Split value={value} set={set} />;
	if (c.shape === 'monitor') {
		const m = value === '' ? usualMonitor() : (JSON.parse(value) as MonitorSetup);
		return (
			<fieldset class="box whole">
				<legend>{t.monitorShows}</legend>
				<MonitorChoices value={m} set={(x) => set(JSON.stringify(x))} />
			</fieldset>
		);
	}
	const options = optionsOf(c.shape);
	if (c.shape === 'crop' && !options.some(([k]) => k === value))
		return (
			<Menu label={label} value={value} options={[[value, shownValue(c.key, c.shape, value)], ...options]} set={set} />
		);
	if (c.shape === 'crop') return <Menu label={label} value={value} options={options} set={set} />;
	if (options.length > 0 || ['load', 'destination', 'truck'].includes(c.shape))
		return <Menu label={label} value={value} options={[['', '–'], ...options]} set={set} />;
	return (
		<Box
			label={label}
			name={c.key}
			value={value}
			set={set}
			unit={unitOf(c.shape)}
			numeric={['mass', 'pct', 'number', 'testWeight', 'length', 'spacing', 'year'].includes(c.shape)}
			type={c.shape === 'time' ? 'datetime-local' : undefined}
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
