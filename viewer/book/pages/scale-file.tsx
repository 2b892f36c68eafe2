/** The scale head's own list of loads: columns said once, remembered in the book, rows taken once. */
import { signal } from '@preact/signals';
import {
	add,
	type Entry,
	guessMapping,
	kept,
	MAPPED,
	type Mapped,
	readScaleLoads,
	readScaleTable,
	type ScaleLoad,
	type ScaleMapping,
	type ScaleTable,
	things,
} from '../../../lib/book/index.ts';
import { faultText, type SetAside } from '../../../lib/model/index.ts';
import { nextNumber } from '../model/acts.ts';
import { book, cart, combines, device, field, newId, stamp, trucks, write } from '../model/state.ts';
import { mass, t, toUtc, when } from '../model/words.ts';
import { Care, Menu, Sheet } from '../ui/parts.tsx';
import { FileButton } from './backup.tsx';

interface Given {
	name: string;
	table: ScaleTable;
	mapping: ScaleMapping;
	remembered: boolean;
}
const given = signal<Given | null>(null);
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
							<ul>
								{done.value.aside.map((f) => (
									<li key={faultText(f)}>{faultText(f)}</li>
								))}
							</ul>
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
		const before = kept(book.value, 'mapping').find((m) => m.thing.values.signature === table.signature);
		given.value = {
			name,
			table,
			mapping: before ? (before.thing.values.mapping as unknown as ScaleMapping) : guessMapping(table),
			remembered: before !== undefined,
		};
	} catch (e) {
		done.value = { failed: String((e as Error).message) };
	}
}

function MappingSheet() {
	const g = given.value!;
	const m = g.mapping;
	const put = (x: Partial<ScaleMapping>) => (given.value = { ...g, mapping: { ...m, ...x } });
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
						set={(v) => put({ [what]: v === '' ? null : Number(v) })}
					/>
				))}
				<Menu
					label={t.columns.unit!}
					value={m.unit}
					options={['lb', 'kg', 't'].map((u) => [u, u] as const)}
					set={(u) => put({ unit: u as ScaleMapping['unit'] })}
				/>
				<Menu
					label={t.dayWritten}
					value={m.order}
					options={[
						['mdy', '10/07/2026'],
						['dmy', '07/10/2026'],
						['ymd', '2026-10-07'],
					]}
					set={(o) => put({ order: o as ScaleMapping['order'] })}
				/>
				<Menu
					label={t.decimalMark}
					value={m.decimal}
					options={[
						['.', '1,234.5'],
						[',', '1.234,5'],
					]}
					set={(d) => put({ decimal: d as ScaleMapping['decimal'] })}
				/>
			</div>
			<h3>{t.asRead}</h3>
			{read === null ? (
				<Care bad>{t.sayWeight}</Care>
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
			<button
				type="button"
				class="main large"
				disabled={read === null || read.loads.length === 0 || !field.value}
				onClick={() => void takeRows(read!.loads, read!.setAside)}
			>
				{field.value ? t.takeRows(read?.loads.length ?? 0, field.value.v.name) : t.noField}
			</button>
		</Sheet>
	);
}

/** Puts the file's rows into the book. A row that is there already, by its key, is left as it is, mends and all. */
async function takeRows(loads: readonly ScaleLoad[], aside: readonly SetAside[]): Promise<void> {
	const g = given.value!;
	let known = 0;
	let added = 0;
	await write((b) => {
		const entries: Entry[] = [];
		const there = things(b);
		const makeLoad = loadMaker(entries);
		let next = Number(nextNumber(b, 'dump', ''));
		let out = Number(nextNumber(b, 'offload', ''));
		const signature = g.table.signature;
		if (!kept(b, 'mapping').some((m) => m.thing.values.signature === signature))
			entries.push(add(stamp(), 'mapping', newId(), { name: g.name, signature, mapping: { ...g.mapping } }));
		for (const l of loads) {
			// The same row read on another tablet is the same thing: its name comes from the row, not from the device.
			const id = `list ${cart.value!.id} ${l.key}`;
			if (there.has(id)) {
				known++;
				continue;
			}
			added++;
			const common = {
				time_s: l.time_s,
				cart: cart.value!.id,
				net_kg: l.weight_kg,
				moisture_pct: l.moisture_pct,
				note: l.note || null,
			};
			if (l.out)
				entries.push(add(stamp(), 'offload', id, { number: l.number || `O${out++}`, load: makeLoad(l), ...common }));
			else
				entries.push(
					add(stamp(), 'dump', id, {
						number: l.number || `D${next++}`,
						field: field.value!.id,
						combines: combinesNamed(l.combine),
						variety: device.value.variety,
						...common,
					}),
				);
		}
		return entries;
	}, false);
	done.value = { added, known, aside };
	given.value = null;
}

/** "A", "a+b" or a combine's whole name. */
function combinesNamed(text: string): string[] {
	return text
		.split(/[+&/]/)
		.map((w) => combines.value.find((c) => c.v.name.toLowerCase() === w.trim().toLowerCase())?.id)
		.filter((x): x is string => x !== undefined);
}

/** Each row that goes out is a truck load of its own, on the truck of that name where there is one. */
function loadMaker(entries: Entry[]): (l: ScaleLoad) => string {
	let number = Number(nextNumber(book.value, 'load', ''));
	return (l) => {
		const id = `list load ${cart.value!.id} ${l.key}`;
		const truck = trucks.value.find((x) => x.v.name.toLowerCase() === l.truck.toLowerCase()) ?? null;
		entries.push(
			add(stamp(), 'load', id, {
				number: String(number++),
				truck: truck?.id ?? null,
				opened_s: l.time_s,
				closed: true,
			}),
		);
		return id;
	};
}
