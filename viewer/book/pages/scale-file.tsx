/**
 * The scale head's own list of loads: its columns are identified once and remembered in the book; each row is imported
 * once.
 */
import { signal } from '@preact/signals';
import {
	add,
	type Book,
	type Entry,
	edit,
	guessMapping,
	kept,
	ledger,
	MAPPED,
	type Mapped,
	readScaleLoads,
	readScaleTable,
	type ScaleLoad,
	type ScaleMapping,
	type ScaleTable,
	things,
	type Value,
} from '../../../lib/book/index.ts';
import { faultText, type SetAside } from '../../../lib/model/index.ts';
import { nextNumber, usualMonitor } from '../model/acts.ts';
import { allCombines, allTrucks, book, cart, device, field, fields, newId, stamp, write } from '../model/state.ts';
import { mass, t, toUtc, when } from '../model/words.ts';
import { FileButton } from '../ui/file-button.tsx';
import { Care, Menu, Sheet } from '../ui/parts.tsx';

/** What a name in a list refers to: a thing's id, or '' for a new one of that name. */
type Names = Record<NameKind, Record<string, string>>;
const NAME_KINDS = ['field', 'combine', 'truck'] as const;
type NameKind = (typeof NAME_KINDS)[number];

interface Given {
	names: Names;
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
			names: (before?.thing.values.names as unknown as Names | undefined) ?? { field: {}, combine: {}, truck: {} },
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
			<button
				type="button"
				class="main large"
				disabled={read === null || read.loads.length === 0 || !field.value}
				onClick={() => void takeRows(read!.loads, read!.setAside)}
			>
				{field.value ? t.takeRows(read?.loads.length ?? 0) : t.noField}
			</button>
		</Sheet>
	);
}

const listOf = (kind: NameKind) => (kind === 'field' ? fields : kind === 'combine' ? allCombines : allTrucks).value;

/** Names of a row by kind; a weight of two combines has two. */
const namesIn = (l: ScaleLoad, kind: NameKind): string[] =>
	(kind === 'combine' ? l.combine.split(/[+&/]/) : [kind === 'field' ? l.field : l.truck])
		.map((w) => w.trim())
		.filter((w) => w !== '');

/** The thing of that name: as answered before, or with the same name. */
function known(kind: NameKind, name: string, names: Names): string | undefined {
	const said = names[kind][name.toLowerCase()];
	if (said) return said;
	return listOf(kind).find((x) => x.v.name.toLowerCase() === name.toLowerCase())?.id;
}

function unknownNames(loads: readonly ScaleLoad[]): [NameKind, string][] {
	return NAME_KINDS.flatMap((kind) => {
		const found = new Map<string, string>();
		for (const l of loads)
			for (const n of namesIn(l, kind))
				if (!listOf(kind).some((x) => x.v.name.toLowerCase() === n.toLowerCase())) found.set(n.toLowerCase(), n);
		return [...found.values()].map((n): [NameKind, string] => [kind, n]);
	});
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

/** Puts the file's rows into the book. A row that is already there, by its key, is left as it is, including edits. */
async function takeRows(loads: readonly ScaleLoad[], aside: readonly SetAside[]): Promise<void> {
	const g = given.value!;
	let already = 0;
	let added = 0;
	await write(
		(b) => {
			const entries: Entry[] = [];
			const there = things(b);
			const names = structuredClone(g.names);
			// An unknown name becomes a new thing.
			for (const [kind, name] of unknownNames(loads)) {
				if (names[kind][name.toLowerCase()]) continue;
				const id = newId();
				names[kind][name.toLowerCase()] = id;
				entries.push(add(stamp(), kind, id, newThing(kind, name)));
			}
			const { signature } = g.table;
			const before = kept(b, 'mapping').find((m) => m.thing.values.signature === signature);
			const mapping = { name: g.name, signature, mapping: { ...g.mapping }, names };
			if (!before) entries.push(add(stamp(), 'mapping', newId(), mapping));
			else if (JSON.stringify(before.thing.values.names) !== JSON.stringify(names))
				entries.push(edit(b, stamp(), before.id, { names, mapping: { ...g.mapping } }, ''));
			const ids = (l: ScaleLoad, kind: NameKind) =>
				namesIn(l, kind)
					.map((n) => known(kind, n, names))
					.filter((x): x is string => x !== undefined);
			const next = numbers(b, 'dump', 'D');
			const out = numbers(b, 'offload', 'O');
			const load = numbers(b, 'load', '');
			for (const l of loads) {
				// The same row read on another tablet is the same thing: its id comes from the row, not from the
				// device.
				const id = `list ${cart.value!.id} ${l.key}`;
				if (there.has(id)) {
					already++;
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
				if (l.out) {
					// Each row that goes out is a truckload of its own.
					const own = `list load ${cart.value!.id} ${l.key}`;
					const set = { number: load.next(), truck: ids(l, 'truck')[0] ?? null, opened_s: l.time_s, closed: true };
					entries.push(add(stamp(), 'load', own, set));
					entries.push(add(stamp(), 'offload', id, { number: l.number || out.next(), load: own, ...common }));
				} else
					entries.push(
						add(stamp(), 'dump', id, {
							number: l.number || next.next(),
							field: ids(l, 'field')[0] ?? field.value!.id,
							combines: ids(l, 'combine'),
							variety: device.value.variety,
							...common,
						}),
					);
			}
			const end = settleCart(b, entries);
			return end ? [...entries, end] : entries;
		},
		{ label: () => t.manyRows(added) },
	);
	done.value = { added, known: already, aside };
	given.value = null;
}

/** What may be left between a list's dumps and offloads while the cart counts as emptied by them, kg and relative. */
const LEFT_KG = 40;
const LEFT_REL = 0.012;

/**
 * A list with dumps but without the offloads after them leaves the cart full in the book. Its scale then continues
 * from its reading before the list, so that no reading entered by hand changes.
 */
function settleCart(b: Book, entries: readonly Entry[]): Entry | null {
	const rows = entries.filter((e) => e.kind === 'dump' || e.kind === 'offload');
	if (rows.length === 0) return null;
	const sum = (kind: string) => rows.reduce((s, e) => s + (e.kind === kind ? Number(e.set.net_kg) : 0), 0);
	const [into, out] = [sum('dump'), sum('offload')];
	if (Math.abs(into - out) <= LEFT_KG + LEFT_REL * into) return null;
	const last = rows.reduce((m, e) => (Number(e.set.time_s) > Number(m.set.time_s) ? e : m));
	const time_s = Number(last.set.time_s);
	const before = ledger(b).weighings.findLast((w) => w.cart === cart.value!.id && w.time_s <= time_s);
	const set = { time_s: time_s + 1, cart: cart.value!.id, reading_kg: before?.after_kg ?? 0, note: t.afterList };
	return add(stamp(), 'zero', `list end ${last.thing}`, set);
}

/** Numbers that continue from the book's. */
function numbers(b: Book, kind: 'dump' | 'offload' | 'load', prefix: string): { next: () => string } {
	const [, head = '', digits = '1'] = /^(.*?)(\d+)$/.exec(nextNumber(b, kind, prefix))!;
	let n = Number(digits);
	return { next: () => `${head}${n++}` };
}

function newThing(kind: NameKind, name: string): { [key: string]: Value } {
	if (kind === 'truck') return { name };
	if (kind === 'combine') return { name, monitor: { ...usualMonitor() } };
	const { crop, season, client, farm, timeZone, tolerance_pct } = field.value!.v;
	return { name, crop: crop as Value, season, client, farm, timeZone, tolerance_pct };
}
