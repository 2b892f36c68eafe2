/** One file: what each column was read as, why, and some of its values; the user can change each of these. */
import type { Role } from '../../lib/index.ts';
import { answer } from '../engine/answer.ts';
import { Select } from '../inputs.tsx';
import { own } from '../state/format.ts';
import { imports as t } from '../strings/import.ts';
import { Heads, Lines, ScrollBox } from '../table.tsx';
import { seen } from './state.ts';
import type { SeenSource } from './understood.ts';
import { UsedAs } from './use.tsx';

const LOG: Role[] = [
	'time',
	'date',
	'clock',
	'start',
	'lat',
	'lon',
	'x',
	'y',
	'flow',
	'yield',
	'mass',
	'mass_total',
	'interval',
	'distance',
	'area',
	'swath',
	'moisture',
	'speed',
	'heading',
	'header',
	'auger',
	'elevation',
	'combine',
	'section',
	'variety',
	'load',
	'field',
	'crop',
	'pass',
	'record',
];
const LOADS: Role[] = [
	'time',
	'date',
	'clock',
	'weight',
	'gross',
	'tare',
	'event',
	'combine',
	'id',
	'ticket',
	'truck_load',
	'emptied',
	'scale',
	'field',
	'moisture',
	'test_weight',
	'variety',
	'destination',
	'lat',
	'lon',
	'note',
];

type Reading = SeenSource['columns'][number];

export function SourceCard(props: { source: SeenSource; open: boolean }) {
	const { source: s } = props;
	const read = s.columns.filter((c) => c.as !== null);
	const rest = s.columns.filter((c) => c.as === null);
	const roles = s.use === 'log' ? LOG : LOADS;
	return (
		<details class="source" open={props.open}>
			<summary>
				<strong>{s.file}</strong>{' '}
				<span class="soft">
					{s.kind === 'gpx' && s.use === 'trace' ? t.way : t.uses[s.use]}
					{s.kind && t.kinds[s.kind] ? ` · ${t.kinds[s.kind]}` : ''} · {s.why}
				</span>
			</summary>
			<UsedAs source={s} />
			{s.columns.length > 0 && <Columns source={s} columns={read} roles={roles} />}
			{rest.length > 0 && (
				<details>
					<summary>{t.notRead(rest.length)}</summary>
					<Columns source={s} columns={rest} roles={roles} />
				</details>
			)}
			{s.notes.length > 0 && <Lines class="plain-list small" of={s.notes.map(own)} />}
		</details>
	);
}

function Columns(props: { source: SeenSource; columns: Reading[]; roles: Role[] }) {
	const { source: s, columns, roles } = props;
	const place = s.signature ?? s.file;
	return (
		<ScrollBox class="scroll">
			<table aria-label={t.columnsOf(s.file)}>
				<Heads of={[t.column, t.readAs, t.unit, t.values, t.why]} />
				<tbody>
					{columns.map((c) => (
						<tr key={`${c.column}${c.as}`}>
							<th scope="row">{c.column}</th>
							<td>
								<Select
									aria-label={t.readAsOf(c.column)}
									value={c.as ?? 'none'}
									options={[
										['none', t.notReadRole],
										...[...new Set([...roles, ...(c.as ? [c.as] : [])])].map((r) => [r, t.roles[r]] as const),
									]}
									set={(role) => answer(place, `as ${c.column}`, role)}
								/>
							</td>
							<td>
								<Unit place={place} reading={c} />
							</td>
							<td class="values">{valuesOf(s, c.column)}</td>
							<td class="because">
								{c.as !== null && c.sure < 0.7 && <span class="warn">{t.unsure}: </span>}
								{own(c.because.join('; '))}
							</td>
						</tr>
					))}
				</tbody>
			</table>
		</ScrollBox>
	);
}

function Unit(props: { place: string; reading: Reading }) {
	const { place, reading: c } = props;
	const known = c.as === null ? [] : (seen.value?.units[c.as] ?? []);
	const dry = c.basis ? ` ${c.basis}${c.at_pct === undefined ? '' : ` ${c.at_pct}%`}` : '';
	if (known.length === 0) return <>{`${c.unit ?? ''}${dry}`}</>;
	return (
		<>
			<Select
				aria-label={t.unitOf(c.column)}
				value={c.unit ?? ''}
				options={[
					...(c.unit === null || !known.includes(c.unit) ? [[c.unit ?? '', c.unit ?? t.choose] as const] : []),
					...known.map((u) => [u, u] as const),
				]}
				set={(unit) => answer(place, `unit of ${c.column}`, unit)}
			/>
			{dry}
		</>
	);
}

function valuesOf(s: SeenSource, column: string): string {
	const values = s.sample.find((c) => c.name === column)?.values ?? [];
	return values.map((v) => (v === '' ? '–' : v.length > 24 ? `${v.slice(0, 23)}…` : v)).join('  ');
}
