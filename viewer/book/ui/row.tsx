/** One row of the book over the page: its values to edit, its history, and voiding it. */
import { signal } from '@preact/signals';
import { useMemo } from 'preact/hooks';
import {
	type Conflict,
	type Entry,
	find,
	type Thing,
	thingById,
	type Value,
	valueBefore,
} from '../../../lib/book/index.ts';
import { Button, Form } from '../../inputs.tsx';
import { editThing, restoreThing, strikeThing } from '../model/acts.ts';
import { askValue, unless } from '../model/asks.ts';
import { columnsOf } from '../model/entry-columns.ts';
import { opened } from '../model/route.ts';
import { readValue, shownValue, writtenValue } from '../model/shapes.ts';
import { book, carts, grain } from '../model/state.ts';
import { combineNames, mass, nameOfThing, t, truckLabel, whenExactly } from '../model/words.ts';
import { Box, Care, Sheet } from './parts.tsx';
import { ReadingsOf } from './readings.tsx';
import { Write } from './write.tsx';

export function RowSheet() {
	const thing = opened.value === null ? undefined : thingById(book.value, opened.value);
	if (!thing) return null;
	return <Open key={thing.id} thing={thing} />;
}

function titleOf(thing: Thing): string {
	if (thing.kind === 'load') return truckLabel(thing.id);
	return `${t.kinds[thing.kind]} ${nameOfThing(thing.id)}`.trim();
}

function Open(props: { thing: Thing }) {
	const { thing } = props;
	// With one cart there is nothing to choose.
	const columns = columnsOf(thing.kind).filter((key) => key !== 'cart' || carts.value.length > 1);
	// The save state of this one sheet.
	const form = useMemo(
		() =>
			signal<Record<string, string>>(
				Object.fromEntries(columns.map((key) => [key, writtenValue(key, thing.values[key])])),
			),
		[thing.id, thing.entries.length],
	);
	const why = useMemo(() => signal(''), [thing.id, thing.entries.length]);
	const close = () => (opened.value = null);
	const net = grain.value.byId.get(thing.id);
	const read = columns.map((key) => [key, readValue(key, form.value[key] ?? '', thing.values[key])] as const);
	const unreadable = read.filter(([, v]) => v === undefined).map(([k]) => k);
	const changed = read.some(
		([k, v]) => v !== undefined && JSON.stringify(v ?? null) !== JSON.stringify(thing.values[k] ?? null),
	);
	const save = () => {
		const values = Object.fromEntries(read.map(([k, v]) => [k, v ?? null])) as { [key: string]: Value };
		const touched = columns.filter((key) => JSON.stringify(values[key]) !== JSON.stringify(thing.values[key] ?? null));
		const asked = touched.map((key) => [key, askValue(thing.kind, key, values[key])] as const).find(([, q]) => q);
		const yes = asked ? t.yesSave(shownValue(asked[0], values[asked[0]])) : '';
		void unless(asked?.[1] ?? null, yes, () => editThing(thing.id, values, why.value.trim()));
	};
	return (
		<Sheet title={titleOf(thing)} close={close} dirty={changed || unreadable.length > 0 || why.value.trim() !== ''}>
			{thing.struck && <Care bad>{t.isStruck}</Care>}
			{thing.conflicts.map((c) => (
				<Torn key={c.key} conflict={c} />
			))}
			{net && net.kind !== 'zero' && (
				<p class="row-net">
					<b>{mass(net.net_kg)}</b> <span class="soft">{t.fromTo(mass(net.before_kg), mass(net.after_kg))}</span>
				</p>
			)}
			{thing.kind === 'load' && <Holds load={thing.id} />}
			{thing.kind === 'dump' && !thing.struck && <ReadingsOf dump={thing.id} />}
			<Form class="mend" submit={save}>
				{columns.map((key) => (
					<Write key={key} name={key} form={form} />
				))}
				{unreadable.length > 0 && <Care bad>{t.unreadable(unreadable.map((k) => t.columns[k] ?? k).join(', '))}</Care>}
				<Box label={t.why} name="why" value={why.value} set={(v) => (why.value = v)} />
				<div class="buttons">
					<Button type="submit" class="main" disabled={!changed || unreadable.length > 0} text={t.mend} />
					{thing.struck ? (
						<Button onClick={() => void restoreThing(thing.id, why.value.trim())} text={t.restore} />
					) : (
						<Button onClick={() => void strikeThing(thing.id, why.value.trim())} text={t.strikeOut} />
					)}
				</div>
			</Form>
			<h3>{t.history}</h3>
			<ol class="history">
				{[...thing.entries].reverse().map((e) => (
					<Past key={e.id} entry={e} columns={columns} />
				))}
			</ol>
		</Sheet>
	);
}

/** One entry of the history: when, who, the value before and after, and why. */
function Past(props: { entry: Entry; columns: readonly string[] }) {
	const { entry: e, columns } = props;
	const set = Object.keys(e.set);
	const keys = e.act === 'add' ? set.filter((k) => columns.includes(k) && e.set[k] !== null) : set;
	return (
		<li>
			<p>
				<b>{t.acts[e.act]}</b> {whenExactly(e.at_s)} <span class="soft">{e.by}</span>
			</p>
			<ul>
				{keys.map((k) => (
					<li key={k}>
						{k !== 'struck' && <span class="soft">{t.columns[k] ?? k}: </span>}
						{e.act !== 'add' && <del>{shownValue(k, valueBefore(book.value, e, k))}</del>}
						{e.act !== 'add' && ' → '}
						{shownValue(k, e.set[k])}
					</li>
				))}
			</ul>
			{e.why !== '' && <p class="reason">{t.because(e.why)}</p>}
		</li>
	);
}

/** Two tablets differ: both values are shown, one tap chooses. */
export function Torn(props: { conflict: Conflict }) {
	const { conflict: c } = props;
	const thing = thingById(book.value, c.thing)!;
	return (
		<div class="torn">
			<p>
				<b>{t.torn(titleOf(thing), t.columns[c.key] ?? (c.key === 'struck' ? t.struckOut : c.key))}</b>
			</p>
			<div class="claims">
				{c.versions.map(({ value, entry }) => (
					<button
						key={entry.id}
						type="button"
						onClick={() => void editThing(c.thing, { [c.key]: value }, t.settledWhy(entry.by))}
					>
						<b>{shownValue(c.key, value)}</b>
						<span class="soft small">
							{entry.by}, {whenExactly(entry.at_s)}
						</span>
					</button>
				))}
			</div>
		</div>
	);
}

/** Contents of a truckload: dumps, combines, varieties, fields, by weight. */
function Holds(props: { load: string }) {
	const l = grain.value.loads.get(props.load);
	if (!l) return null;
	const whole = l.holds.reduce((s, p) => s + p.kg, 0);
	const rows = l.holds.map((p) => ({ p, d: find(book.value, 'dump', p.dump) }));
	const parts = (of: (d: NonNullable<(typeof rows)[0]['d']>) => string) => {
		const sums = new Map<string, number>();
		for (const { p, d } of rows) {
			const key = d ? of(d) : t.notInBook;
			if (key !== '') sums.set(key, (sums.get(key) ?? 0) + p.kg);
		}
		return [...sums].map(([k, kg]) => `${k} ${Math.round((100 * kg) / whole)}%`).join(', ');
	};
	if (whole <= 0) return <p class="soft">{t.nothingOnIt}</p>;
	return (
		<section class="holds" aria-label={t.holds}>
			<p>
				<b>{mass(l.cart_kg)}</b> {t.byCart}
				{l.ticket_kg !== null && (
					<>
						{' · '}
						<b>{mass(l.ticket_kg)}</b> {t.byTicket}
					</>
				)}
			</p>
			<dl>
				<dt>{t.combines}</dt>
				<dd>{parts((d) => combineNames(d.v.combines))}</dd>
				<dt>{t.ground}</dt>
				<dd>{parts((d) => nameOfThing(d.v.field))}</dd>
				{rows.some(({ d }) => d?.v.variety) && (
					<>
						<dt>{t.columns.variety}</dt>
						<dd>{parts((d) => d.v.variety ?? '')}</dd>
					</>
				)}
				<dt>{t.dumps}</dt>
				<dd>{rows.map(({ p, d }) => `${d?.v.number ?? t.notInBook} (${mass(p.kg)})`).join(', ')}</dd>
			</dl>
		</section>
	);
}
