/** The mapping step: which file is what, which column holds what, in which unit; seen on the ground before it is run. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { ColumnPlan } from '../../lib/model/index.ts';
import { CROPS } from '../../lib/units/index.ts';
import { openFiles, toMap } from '../engine/open.ts';
import { status } from '../state/field.ts';
import type { GivenFile } from '../state/protocol.ts';
import { strings } from '../strings/index.ts';
import { guessColumns, guessRole, type Meaning, meanings, type Role, type Table, unitsFor } from './guess.ts';
import { Preview } from './preview.tsx';

const t = strings.work;

interface Draft {
	file: GivenFile;
	role: Role;
	table: Table | null;
	combine: string;
	columns: Partial<Record<Meaning, ColumnPlan>>;
}

interface About {
	name: string;
	crop: string;
	timeZone: string;
}

/** "combine-Heron.csv" is Heron's; otherwise A, B, C in turn. */
function nameIn(file: string, order: number): string {
	return /combine[-_ ]?([\p{L}\p{N}]+)/iu.exec(file)?.[1] ?? String.fromCharCode(65 + order);
}

/** The first rows of a table: enough to guess from and to look at. */
async function head(file: GivenFile): Promise<Table | null> {
	if (!/\.(csv|txt|tsv)$/i.test(file.name)) return null;
	const text = await file.blob.slice(0, 200_000).text();
	const { default: Papa } = await import('papaparse');
	const rows = Papa.parse<string[]>(text, { skipEmptyLines: true, preview: 400 }).data;
	const [columns, ...rest] = rows;
	return columns ? { columns, rows: rest } : null;
}

export function Mapping(props: { files: GivenFile[] }) {
	const drafts = useSignal<Draft[]>([]);
	const about = useSignal<About>({
		name: '',
		crop: 'corn',
		timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
	});
	useEffect(() => {
		let gone = false;
		(async () => {
			const made: Draft[] = [];
			let letter = 0;
			for (const file of props.files) {
				const table = await head(file);
				const role = guessRole(file.name, table);
				const columns = role === 'log' && table ? guessColumns(table) : {};
				made.push({ file, role, table, combine: role === 'log' ? nameIn(file.name, letter++) : '', columns });
			}
			const old = props.files.find((f) => f.name === 'field.json');
			const was = old ? (JSON.parse(await old.blob.text()) as Partial<About>) : {};
			if (gone) return;
			drafts.value = made;
			const first = made.find((d) => d.role === 'log')?.file.name.replace(/\.[^.]*$/, '') ?? '';
			about.value = {
				name: was.name ?? first,
				crop: typeof was.crop === 'string' ? was.crop : 'corn',
				timeZone: was.timeZone ?? about.value.timeZone,
			};
		})();
		return () => {
			gone = true;
		};
	}, [props.files]);

	const change = (i: number, with_: Partial<Draft>) => {
		drafts.value = drafts.value.map((d, k) => (k === i ? { ...d, ...with_ } : d));
	};
	const logs = drafts.value.filter((d) => d.role === 'log');
	const missing = logs.flatMap((d) =>
		missingIn(d).map((m) =>
			m === 'time' && d.columns.time ? t.missingSince(d.file.name) : t.missing(d.file.name, t.meanings[m]),
		),
	);

	const open = async () => {
		const old = props.files.find((f) => f.name === 'field.json');
		const was = old ? (JSON.parse(await old.blob.text()) as Record<string, unknown>) : {};
		const json = JSON.stringify({ ...was, ...fieldJson(drafts.value, about.value) }, null, '\t');
		const rest = props.files.filter((f) => f.name !== 'field.json');
		toMap.value = null;
		openFiles([...rest, { name: 'field.json', blob: new Blob([`${json}\n`]) }]);
	};

	return (
		<div class="mapping">
			<header>
				<h2 class="field-name">{t.mapping}</h2>
				<p class="soft">{t.mappingText}</p>
			</header>
			<fieldset>
				<label>
					{t.fieldName}
					<input
						value={about.value.name}
						onInput={(e) => (about.value = { ...about.value, name: e.currentTarget.value })}
					/>
				</label>
				<label>
					{t.crop}
					<select
						value={about.value.crop}
						onChange={(e) => (about.value = { ...about.value, crop: e.currentTarget.value })}
					>
						{CROPS.map((c) => (
							<option key={c.name} value={c.name}>
								{c.name}
							</option>
						))}
					</select>
				</label>
				<label>
					{t.timeZone}
					<input
						value={about.value.timeZone}
						list="zones"
						onInput={(e) => (about.value = { ...about.value, timeZone: e.currentTarget.value })}
					/>
				</label>
				<datalist id="zones">
					{Intl.supportedValuesOf('timeZone').map((z) => (
						<option key={z} value={z} />
					))}
				</datalist>
			</fieldset>
			{drafts.value.map((d, i) =>
				d.file.name === 'field.json' ? null : (
					<section key={d.file.name} aria-label={d.file.name}>
						<h3>{d.file.name}</h3>
						<fieldset>
							<label>
								{t.thisIs}
								<select
									value={d.role}
									onChange={(e) => {
										const role = e.currentTarget.value as Role;
										change(i, { role, columns: role === 'log' && d.table ? guessColumns(d.table) : {} });
									}}
								>
									{(['log', 'cart', 'tickets', 'boundary', 'unused'] as const).map((r) => (
										<option key={r} value={r}>
											{t.roles[r]}
										</option>
									))}
								</select>
							</label>
							{d.role === 'log' && (
								<label>
									{t.combineName}
									<input value={d.combine} onInput={(e) => change(i, { combine: e.currentTarget.value.trim() })} />
								</label>
							)}
							{d.role === 'log' && <Constants draft={d} change={(c) => change(i, c)} />}
						</fieldset>
						{d.role === 'log' && d.table && (
							<>
								<ColumnTable draft={d} change={(c) => change(i, c)} />
								<Preview table={d.table} columns={d.columns} />
							</>
						)}
					</section>
				),
			)}
			{missing.length > 0 && (
				<div role="status">
					<ul class="faults">
						{missing.map((m) => (
							<li key={m}>{m}</li>
						))}
					</ul>
				</div>
			)}
			<div class="row">
				<button type="button" class="main" disabled={logs.length === 0 || missing.length > 0} onClick={open}>
					{t.openMapped}
				</button>
				<button
					type="button"
					onClick={() => {
						toMap.value = null;
						status.value = { kind: 'empty' };
					}}
				>
					{t.cancel}
				</button>
			</div>
		</div>
	);
}

function missingIn(d: Draft): Meaning[] {
	const needs: Meaning[] = ['time', 'lat', 'lon', 'interval', 'distance', 'swath', 'moisture'];
	const missing = needs.filter((m) => !d.columns[m] || d.columns[m]?.since === '');
	if (
		!d.columns.flow &&
		!(d.columns.yield?.basis === 'wet' || (d.columns.yield?.basis === 'dry' && d.columns.yield.at_pct))
	) {
		missing.push(d.columns.yield ? 'yield' : 'flow');
	}
	return missing;
}

/** What no column holds may be one value for the whole file: the header's width, the interval. */
function Constants(props: { draft: Draft; change: (with_: Partial<Draft>) => void }) {
	const { columns } = props.draft;
	const set = (m: Meaning, plan: ColumnPlan | undefined) => {
		const { [m]: _, ...rest } = columns;
		props.change({ columns: plan ? { ...rest, [m]: plan } : rest });
	};
	return (
		<>
			{(['swath', 'interval'] as const).map((m) =>
				columns[m]?.column ? null : (
					<label key={m}>
						{t.constant(t.meanings[m])}
						<span class="row">
							<input
								type="number"
								step="any"
								value={columns[m]?.value ?? ''}
								onInput={(e) => {
									const value = e.currentTarget.valueAsNumber;
									set(m, Number.isFinite(value) ? { value, unit: columns[m]?.unit ?? unitsFor[m]![0]! } : undefined);
								}}
							/>
							<Unit meaning={m} plan={columns[m]} set={(plan) => set(m, plan)} />
						</span>
					</label>
				),
			)}
			{columns.time?.since !== undefined && (
				<label>
					{t.since}
					<input
						value={columns.time.since}
						placeholder="2026-10-14T00:00:00Z"
						onInput={(e) => set('time', { ...columns.time, since: e.currentTarget.value })}
					/>
				</label>
			)}
			{columns.yield && (
				<label>
					{t.basis}
					<span class="row">
						<select
							value={columns.yield.basis ?? ''}
							onChange={(e) => set('yield', { ...columns.yield, basis: e.currentTarget.value as 'wet' | 'dry' })}
						>
							<option value="" disabled>
								{t.basisUnknown}
							</option>
							<option value="wet">{t.wet}</option>
							<option value="dry">{t.dry}</option>
						</select>
						{columns.yield.basis === 'dry' && (
							<input
								type="number"
								step="any"
								aria-label={t.dryAt}
								value={columns.yield.at_pct ?? ''}
								onInput={(e) => set('yield', { ...columns.yield, at_pct: e.currentTarget.valueAsNumber })}
							/>
						)}
					</span>
				</label>
			)}
		</>
	);
}

function Unit(props: { meaning: Meaning; plan: ColumnPlan | undefined; set: (plan: ColumnPlan) => void }) {
	const units = unitsFor[props.meaning];
	if (!units || !props.plan) return null;
	return (
		<select
			aria-label={t.unitOf(t.meanings[props.meaning])}
			value={props.plan.unit ?? units[0]}
			onChange={(e) => props.set({ ...props.plan, unit: e.currentTarget.value })}
		>
			{units.map((u) => (
				<option key={u} value={u}>
					{u}
				</option>
			))}
		</select>
	);
}

function ColumnTable(props: { draft: Draft; change: (with_: Partial<Draft>) => void }) {
	const { table, columns } = props.draft;
	const meaningOf = (name: string) => meanings.find((m) => columns[m]?.column === name);
	const assign = (name: string, meaning: Meaning | '') => {
		const next = { ...columns };
		for (const m of meanings) if (next[m]?.column === name) delete next[m];
		if (meaning) next[meaning] = { column: name, ...(unitsFor[meaning] ? { unit: unitsFor[meaning]![0]! } : {}) };
		props.change({ columns: next });
	};
	return (
		// biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard.
		<div class="scroll" tabIndex={0}>
			<table>
				<thead>
					<tr>
						{table!.columns.map((name) => {
							const m = meaningOf(name);
							return (
								<th key={name} scope="col">
									<div>{name}</div>
									<select
										aria-label={t.meaningOf(name)}
										value={m ?? ''}
										onChange={(e) => assign(name, e.currentTarget.value as Meaning | '')}
									>
										<option value="">{t.notUsed}</option>
										{meanings.map((x) => (
											<option key={x} value={x}>
												{t.meanings[x]}
											</option>
										))}
									</select>
									{m && (
										<Unit
											meaning={m}
											plan={columns[m]}
											set={(plan) => props.change({ columns: { ...columns, [m]: plan } })}
										/>
									)}
								</th>
							);
						})}
					</tr>
				</thead>
				<tbody>
					{table!.rows.slice(0, 5).map((row, r) => (
						<tr key={`${r}${row[0]}`}>
							{table!.columns.map((name, c) => (
								<td key={name}>{row[c]}</td>
							))}
						</tr>
					))}
				</tbody>
			</table>
		</div>
	);
}

/** field.json as the command line reads it. */
function fieldJson(drafts: Draft[], about: About): Record<string, unknown> {
	const of = (role: Role) => drafts.find((d) => d.role === role)?.file.name;
	const [cart, tickets, boundary] = [of('cart'), of('tickets'), of('boundary')];
	return {
		name: about.name,
		crop: about.crop,
		timeZone: about.timeZone,
		...(boundary ? { boundary } : {}),
		logs: drafts
			.filter((d) => d.role === 'log')
			.map((d) => ({ file: d.file.name, combine: d.combine, columns: d.columns })),
		...(cart ? { cartLog: { file: cart } } : {}),
		...(tickets ? { tickets: { file: tickets } } : {}),
	};
}
