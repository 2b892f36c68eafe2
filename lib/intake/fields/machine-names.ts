import { groupBy } from '../../stats/group.ts';
import type { Given, LogRows } from '../model.ts';

/** A log's rows of one machine before it has its final name. */
export interface MachineRows {
	log: number;
	/** Name in the file: a value of its column, a device; '' if there is none. */
	said: string;
	rows: Int32Array;
	start_s: number;
	end_s: number;
}

/** Splits each log's kept rows by its machine column. */
export function machineRows(logs: readonly LogRows[]): MachineRows[] {
	return logs.flatMap((log, index) => {
		const kept = Array.from(log.keep.keys()).filter((i) => log.keep[i] === 1);
		return [...groupBy(kept, (i) => log.combine?.[i] ?? '')].map(
			([said, rows]): MachineRows => ({
				log: index,
				said: said || (log.table.meta.device ?? ''),
				rows: Int32Array.from(rows),
				...spanOf(log.time_s, rows),
			}),
		);
	});
}

/** The first and the last time of rows; infinite where none has a time. */
export function spanOf(time_s: Float64Array, rows: Iterable<number>): { start_s: number; end_s: number } {
	let [start_s, end_s] = [Infinity, -Infinity];
	for (const i of rows) {
		const t = time_s[i]!;
		if (t < start_s) start_s = t;
		if (t > end_s) end_s = t;
	}
	return { start_s, end_s };
}

const baseOf = (file: string): string =>
	file
		.split('/')
		.at(-1)!
		.replace(/\.[^.]*$/, '') || file;
const tokensOf = (base: string): string[] => base.split(/[^\p{L}\p{N}]+/u).filter((t) => t !== '');
const NUMBERS = /^\d+$/;
const FILLER =
	/^(combine|harvester|machine|log|logs|yield|data|export|harvest|field|csv|points?|corn|wheat|soy|soybeans?|barley|day)$/i;

/**
 * Names each machine: as in its file, in the cart list's spelling if that is unambiguous, or by the part of the file
 * name that distinguishes it. Logs with a common stem that do not run at the same time belong to one machine.
 */
export function nameMachines(
	machines: readonly MachineRows[],
	logs: readonly LogRows[],
	cart: readonly string[],
	given: (log: number) => Given,
): { names: string[]; notes: string[] } {
	const notes: string[] = [];
	const bases = machines.map((m) => tokensOf(baseOf(logs[m.log]!.table.file)));
	const all = bases.filter((_, k) => machines[k]?.said === '');
	const shared = (token: string) =>
		new Set(all.map((b) => b.join('\t'))).size > 1 && all.every((b) => b.includes(token));
	const names = machines.map((m, k) => {
		const answer = given(m.log).combine;
		if (typeof answer === 'object' && answer !== null && m.said in answer)
			return String((answer as Record<string, unknown>)[m.said]);
		if (typeof answer === 'string' && answer.trim() !== '') {
			const list = answer.split(',').map((s) => s.trim());
			const own = machines.filter((o) => o.log === m.log);
			if (list.length === own.length) return list[own.indexOf(m)]!;
		}
		if (m.said !== '') return cartName(m.said, [m.said], cart) ?? m.said;
		const tokens = bases[k]!;
		const noted = cartName(baseOf(logs[m.log]!.table.file), tokens, cart);
		if (noted !== null) return noted;
		const words = tokens.filter((t) => !NUMBERS.test(t) && !/^\d{4}/.test(t));
		const own = words.filter((t) => !shared(t));
		for (const some of [own.filter((t) => !FILLER.test(t)), own, words.filter((t) => !FILLER.test(t)), words, tokens]) {
			if (some.length > 0) return some.join('-');
		}
		return 'combine';
	});
	// One machine, and one name in the cart's list: they are the same.
	const [first] = names;
	const only = cart.length === 1 && new Set(names).size === 1 && machines.every((m) => m.said === '');
	if (only && first !== undefined && first !== cart[0]) {
		notes.push(`the only machine, ${first}, is taken to be the only one in the cart’s list, ${cart[0]}`);
		names.fill(cart[0]!);
	}
	// One name, two logs at the same time: two machines.
	for (const name of new Set(names)) {
		const same = machines.map((m, k) => ({ m, k })).filter(({ k }) => names[k] === name && machines[k]?.said === '');
		same.sort((a, b) => a.m.start_s - b.m.start_s);
		if (same.length < 2) continue;
		const overlap = same.some(({ m }, i) => i > 0 && m.start_s < same[i - 1]!.m.end_s - 60);
		if (overlap) {
			for (const { k, m } of same) names[k] = baseOf(logs[m.log]!.table.file);
		} else notes.push(`${same.length} files follow one another in time and are read as one machine, ${name}`);
	}
	return { names, notes };
}

/** The cart list's own spelling of a machine, if exactly one of its names matches. */
function cartName(said: string, tokens: readonly string[], cart: readonly string[]): string | null {
	const low = said.toLowerCase();
	const exact = cart.find((c) => c.toLowerCase() === low);
	if (exact !== undefined) return exact;
	const found = cart.filter(
		(c) => tokens.some((t) => t.toLowerCase() === c.toLowerCase()) || (c.length > 3 && low.includes(c.toLowerCase())),
	);
	return found.length === 1 ? found[0]! : null;
}

/** Names for fields without one: the folder or zip that has this field's files alone, else its file, else a number. */
export function nameFields(fields: { name: string; parts: { log: number }[] }[], logs: readonly LogRows[]): void {
	const filesOf = fields.map((field) => [...new Set(field.parts.map((p) => logs[p.log]!.table.file))]);
	fields.forEach((field, k) => {
		if (field.name !== '') return;
		const own = filesOf[k]!;
		const others = filesOf.flatMap((files, m) => (m === k ? [] : files));
		const parts = own.map((f) => f.split('/').slice(0, -1));
		const shared = (parts[0] ?? []).filter((p, i) => parts.every((q) => q[i] === p));
		const above = shared
			.filter(
				(p, i) => !/^taskdata$/i.test(p) && !others.some((f) => f.startsWith(`${shared.slice(0, i + 1).join('/')}/`)),
			)
			.at(-1);
		const base = own.length === 1 ? (own[0]?.split('/').at(-1) ?? '').replace(/\.[^.]*$/, '') : '';
		const alone = own.length === 1 && !others.includes(own[0]!);
		const name = above?.replace(/\.(zip|kmz)$/i, '') ?? (alone ? base : '');
		field.name = name !== '' ? name : `${base || 'field'} ${k + 1}`;
	});
}
