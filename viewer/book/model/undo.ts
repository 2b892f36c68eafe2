/** Undo and redo: one action at a time, of the open field, through ordinary entries. */
import { computed } from '@preact/signals';
import { type Book, type Entry, find, ledger, thingById, ticketNet_kg, undo } from '../../../lib/book/index.ts';
import { type Act, acts, book, device, stamp, write } from './state.ts';
import { combineNames, mass, t, truckLabel } from './words.ts';

/** Label of an action: "D8, Heron, 21,000 lb". */
export function labelOf(entries: readonly Entry[], now: Book): string {
	// The offload is the action; the load started for it is part of it.
	const e = entries.findLast((x) => x.kind !== 'load' && x.kind !== 'mapping') ?? entries[0]!;
	if (entries.length > 8) return t.manyRows(entries.filter((x) => x.kind === 'dump' || x.kind === 'offload').length);
	const what = wordsOf(e, now);
	if (e.act === 'add') return what;
	if (e.kind === 'load' && e.set.closed === true) return t.hasLeft(what);
	return t.actLabel[e.act](what);
}

function wordsOf(e: Entry, now: Book): string {
	const of = (parts: (string | null)[]) => parts.filter((x) => x !== null && x !== '').join(', ');
	const net = () => mass(ledger(now).byId.get(e.thing)?.net_kg ?? null);
	switch (e.kind) {
		case 'dump': {
			const d = find(now, 'dump', e.thing)!;
			return of([d.v.number, combineNames(d.v.combines, now), net()]);
		}
		case 'offload': {
			const o = find(now, 'offload', e.thing)!;
			return of([o.v.number, o.v.load === null ? null : truckLabel(o.v.load, now), net()]);
		}
		case 'reading': {
			const r = find(now, 'reading', e.thing)!;
			const dump = find(now, 'dump', r.v.dump)?.v.number ?? null;
			return of([t.monitorOfCombine(combineNames([r.v.combine], now)), dump, t.amount(r.v.value, r.v.unit)]);
		}
		case 'ticket': {
			const k = find(now, 'ticket', e.thing)!;
			return of([`${t.kinds.ticket} ${k.v.number}`.trim(), mass(ticketNet_kg(k.v))]);
		}
		case 'event': {
			const v = find(now, 'event', e.thing)!;
			return t.recalibrated(combineNames(v.v.combine === null ? [] : [v.v.combine], now));
		}
		case 'load':
			return truckLabel(e.thing, now);
		default: {
			const name = thingById(now, e.thing)?.values.name;
			return of([`${t.kinds[e.kind]} ${typeof name === 'string' ? name : ''}`.trim()]);
		}
	}
}

/** Actions of the open field, the latest first. */
export const fieldActs = computed(() => acts.value.filter((a) => a.field === device.value.field).reverse());
/** The action that Undo reverts next. */
export const undoable = computed(() => fieldActs.value.find((a) => !a.undone && free(a)) ?? null);
/** The last undone action, if nothing was done after it. */
export const redoable = computed(() => fieldActs.value.findLast((a, i) => a.undone && leads(i)) ?? null);

/** Undone actions are at the head of the list: the one nearest to the actions still in effect is redone first. */
const leads = (i: number): boolean => fieldActs.value.slice(0, i).every((a) => a.undone);

/** Whether no later action on the same things is still in effect. */
function free(a: Act): boolean {
	const own = new Set(a.entries.map((e) => e.thing));
	const at = acts.value.indexOf(a);
	return acts.value.slice(at + 1).every((b) => b.undone || b.entries.every((e) => !own.has(e.thing)));
}
export const canUndo = (a: Act): boolean => !a.undone && free(a);

async function turn(a: Act, undone: boolean): Promise<void> {
	await write((now) => [...a.entries].reverse().map((e) => undo(now, stamp(), e)), {
		label: () => a.label,
		acts: (entries, before) => before.map((x) => (x.id === a.id ? { ...x, entries, undone } : x)),
	});
	// The current load may have been voided or restored.
	const load = find(book.value, 'load', device.value.load);
	if (load?.struck) device.value = { ...device.value, load: null };
}

export const undoAct = (a: Act): Promise<void> => turn(a, true);
export const redoAct = (a: Act): Promise<void> => turn(a, false);
