/**
 * The scale head's own list of loads: its columns are identified once and remembered in the book; each row is imported
 * once.
 */
import { signal } from '@preact/signals';
import {
	guessMapping,
	kept,
	MAPPED,
	type Mapped,
	readScaleLoads,
	readScaleTable,
	type ScaleLoad,
	type ScaleMapping,
} from '../../../lib/book/index.ts';
import { faultText, type SetAside } from '../../../lib/model/index.ts';
import { Button } from '../../inputs.tsx';
import { Lines } from '../../table.tsx';
import { listOf, type ScaleList, takeRows, unknownNames } from '../model/scale-rows.ts';
import { book, field } from '../model/state.ts';
import { mass, t, toUtc, when } from '../model/words.ts';
import { FileButton } from '../ui/file-button.tsx';
import { Care, Menu, Sheet } from '../ui/parts.tsx';

const given = signal<ScaleList | null>(null);
const done = signal<{ added: number; known: number; aside: readonly SetAside[] } | { failed: string } | null>(null);

export function ScaleFile() {
	return (
		<section class="card">
			<h3>{t.scaleFile}</h3>
			<p class="soft">{t.scaleFileText}</p>
			<div class="buttons">
				<FileButton label={t.openScaleFile} accept=".csv,.txt,.tsv,text/csv,text/plain" take={take} />
			</div>
			{done.value && 'failed' in done.value && <Care bad>{done.value.failed}</Care>}
			{done.value && 'added' in done.value && (
				<>
					<p role="status">
						<b>{t.rowsTaken(done.value.added, done.value.known)}</b>
					</p>
					{done.value.aside.length > 0 && (
						<details>
							<summary>{t.rowsAside(done.value.aside.length)}</summary>
							<Lines of={done.value.aside.map(faultText)} />
						</details>
					)}
				</>
			)}
			{given.value && <MappingSheet />}
		</section>
	);
}

async function take(text: string, name: string): Promise<void> {
	done.value = null;
	try {
		const table = readScaleTable(text, name);
		const before = kept(book.value, 'mapping').find((m) => m.values.signature === table.signature);
		given.value = {
			name,
			table,
			mapping: before ? (before.values.mapping as unknown as ScaleMapping) : guessMapping(table),
			remembered: before !== undefined,
			names: (before?.values.names as unknown as ScaleList['names'] | undefined) ?? {
				field: {},
				combine: {},
				truck: {},
			},
		};
	} catch (e) {
		done.value = { failed: String((e as Error).message) };
	}
}

/** Puts the rows that were read into the book. */
async function put(list: ScaleList, read: { loads: readonly ScaleLoad[]; setAside: readonly SetAside[] }) {
	done.value = { ...(await takeRows(list, read.loads)), aside: read.setAside };
	given.value = null;
}

function MappingSheet() {
	const g = given.value!;
	const m = g.mapping;
	const set = (x: Partial<ScaleMapping>) => (given.value = { ...g, mapping: { ...m, ...x } });
	const width = Math.max(...g.table.rows.map((r) => r.length));
	const head = m.skip > 0 ? g.table.rows[m.skip - 1]! : [];
	const first = g.table.rows[m.skip] ?? [];
	const columns = Array.from(
		{ length: width },
		(_, c) => [String(c), `${head[c] || t.columnNumber(c + 1)}: ${first[c] ?? ''}`] as const,
	);
	const read = m.weight === null ? null : readScaleLoads(g.table, m, toUtc, g.name);
	return (
		<Sheet title={t.scaleFile} close={() => (given.value = null)}>
			{g.remembered && <p class="good">{t.mappingKnown}</p>}
			<div class="mend mapping">
				{MAPPED.map((what: Mapped) => (
					<Menu
						key={what}
						label={t.mapped[what]}
						value={m[what] === null ? '' : String(m[what])}
						options={[['', t.notThere], ...columns]}
						set={(v) => set({ [what]: v === '' ? null : Number(v) })}
					/>
				))}
				<Menu
					label={t.columns.unit!}
					value={m.unit}
					options={['lb', 'kg', 't'].map((u) => [u, u] as const)}
					set={(u) => set({ unit: u as ScaleMapping['unit'] })}
				/>
				<Menu
					label={t.dayWritten}
					value={m.order}
					options={[
						['mdy', '10/07/2026'],
						['dmy', '07/10/2026'],
						['ymd', '2026-10-07'],
					]}
					set={(o) => set({ order: o as ScaleMapping['order'] })}
				/>
				<Menu
					label={t.decimalMark}
					value={m.decimal}
					options={[
						['.', '1,234.5'],
						[',', '1.234,5'],
					]}
					set={(d) => set({ decimal: d as ScaleMapping['decimal'] })}
				/>
			</div>
			<h3>{t.asRead}</h3>
			{read === null ? (
				<Care bad>{t.chooseWeight}</Care>
			) : (
				<>
					<table>
						<tbody>
							{read.loads.slice(0, 5).map((l) => (
								<tr key={l.key}>
									<td>{when(l.time_s)}</td>
									<td>{l.out ? t.toTruckShort : l.combine || t.dump}</td>
									<td class="n">{mass(l.weight_kg)}</td>
								</tr>
							))}
						</tbody>
					</table>
					{read.setAside.length > 0 && <Care>{t.rowsAside(read.setAside.length)}</Care>}
				</>
			)}
			{read !== null && <Unknown loads={read.loads} />}
			<Button
				class="main large"
				disabled={read === null || read.loads.length === 0 || !field.value}
				onClick={() => void put(g, read!)}
				text={field.value ? t.takeRows(read?.loads.length ?? 0) : t.noField}
			/>
		</Sheet>
	);
}

/** Fields, combines and trucks in the list that are not in the book: the user is asked once. */
function Unknown(props: { loads: readonly ScaleLoad[] }) {
	const g = given.value!;
	const unknown = unknownNames(props.loads);
	if (unknown.length === 0) return null;
	return (
		<section aria-label={t.unknownNames}>
			<h3>{t.unknownNames}</h3>
			<p class="soft">{t.unknownText}</p>
			<div class="mend">
				{unknown.map(([kind, name]) => (
					<Menu
						key={kind + name}
						label={t.nameIs[kind](name)}
						value={g.names[kind][name.toLowerCase()] ?? ''}
						options={[['', t.asNew(name)], ...listOf(kind).map((x) => [x.id, x.v.name] as const)]}
						set={(id) => {
							const of = { ...g.names[kind], [name.toLowerCase()]: id };
							given.value = { ...g, names: { ...g.names, [kind]: of } };
						}}
					/>
				))}
			</div>
		</section>
	);
}
