import type { Random } from '../sim/random.ts';

/** A folder under mutation: bytes by name. */
export type Files = Map<string, Uint8Array>;

const encoder = new TextEncoder();
const decoder = new TextDecoder();

/** Cells that have broken readers before. */
const ODD_NUMBERS = [
	...['0', '-0', '-1', '1', '1e308', '-1e308', '1e-308', '5e-324', '1e400', 'NaN', 'Infinity', '-Infinity', '', ' '],
	...['.', '-', '1e', '0x10', '1,5', '1.2.3', '٣', '1 000', '999999999999', '-93', '90', '91', '180', '181', '0.1'],
	...['2147483648', '9007199254740993', '1e15', '100', '101', '60', 'many', '+3', '３', '1/2', '50%'],
];
const ODD_TIMES = [
	...['', '2026-02-30T10:00:00Z', '2024-02-29T23:59:60Z', '0001-01-01T00:00:00Z', '9999-12-31T23:59:59Z', '2026-10-03'],
	...['2026-10-03T15:00', '2026-10-03T24:00:00Z', '2026-10-03T15:00:00', '2026-10-03T15:00:00+14:00', 'noon', '0'],
	...['2026-11-01T01:30:00', '2026-03-08T02:30:00', '1759500000', '10/03/2026', '2026-10-03T15:00:00.999999999Z'],
	...['1969-12-31T23:59:59Z', '2027-10-03T15:00:00Z', '2026-10-03T15:00:00-00:00', '2026-10-04T15:00:00Z'],
];
const ODD_WORDS = [
	'',
	'A',
	'B',
	'A+B',
	'C',
	'=1+1',
	'__proto__',
	'constructor',
	'\u202eA',
	'dump',
	'offload',
	'yes',
	'no',
	'𝔸',
	'x'.repeat(3000),
];
const ODD_JSON: unknown[] = [
	...[null, true, false, 0, -1, 1, 1e308, -1e308, 1e-308, 0.5, 1e9, '', 'x', '__proto__', '=1', 'A', [], {}, [[]]],
	...[[null], { a: 1 }, 'corn', 'canola', 'constant', 'step', 'trend', 'flow', 'aside', 'used', 'joined', '2026-10-03'],
	...['a.csv', 'b.csv', 'cart.csv', '../a.csv', '/etc/passwd', 'America/Chicago', 'Mars/Olympus', 'kg/s', 'lb/s', 'bu'],
	...[-93, 42, 90, 180, 91, 1e-7, 60, 100, 2026],
];
const KEYS = [
	'crop',
	'logs',
	'pins',
	'flags',
	'total',
	'combines',
	'columns',
	'value',
	'form',
	'unit',
	'basis',
	'x',
	'__proto__',
];

type Change = (files: Files, r: Random) => void;

const nameOf = (files: Files, r: Random, ends = '') => r.pick([...files.keys()].filter((n) => n.endsWith(ends)));
const textOf = (files: Files, name: string) => decoder.decode(files.get(name) ?? new Uint8Array());
const put = (files: Files, name: string, text: string) => files.set(name, encoder.encode(text));

function bytes(files: Files, r: Random): void {
	const name = nameOf(files, r);
	const old = files.get(name) as Uint8Array;
	const at = r.whole(old.length + 1);
	const length = Math.min(old.length - at, r.whole(r.chance(0.2) ? 400 : 4));
	const some = Uint8Array.from({ length: r.whole(r.chance(0.1) ? 200 : 4) }, () => r.whole(256));
	const between = r.chance(0.3) ? old.slice(at, at + length * 2) : some;
	const next = new Uint8Array(old.length - length + between.length);
	next.set(old.subarray(0, at));
	next.set(between, at);
	next.set(old.subarray(at + length), at + between.length);
	files.set(name, r.chance(0.1) ? next.slice(0, at) : next);
}

/** A table's lines, changed. */
const rows =
	(change: (lines: string[], r: Random) => void): Change =>
	(files, r) => {
		const name = nameOf(files, r, '.csv');
		const lines = textOf(files, name).split('\n');
		change(lines, r);
		put(files, name, lines.join('\n'));
	};

/** A table's cells, split plainly, changed. */
const cells =
	(change: (table: string[][], r: Random) => void): Change =>
	(files, r) => {
		const name = nameOf(files, r, '.csv');
		const table = textOf(files, name)
			.split('\n')
			.map((line) => line.split(','));
		change(table, r);
		put(files, name, table.map((row) => row.join(',')).join('\n'));
	};

const place = (table: string[][], r: Random, header = false): [number, number] => {
	const y = (header ? 0 : 1) + r.whole(Math.max(1, table.length - 1));
	return [y, r.whole(Math.max(1, (table[y] ?? ['']).length))];
};
const ofColumn = (table: string[][], x: number, change: (cell: string, y: number) => string) => {
	table.forEach((row, y) => {
		if (y > 0 && x < row.length) row[x] = change(row[x] as string, y);
	});
};

const shuffle = (lines: string[], r: Random) => {
	for (let k = lines.length - 1; k > 1; k--) {
		const j = 1 + r.whole(k);
		[lines[k], lines[j]] = [lines[j] as string, lines[k] as string];
	}
};

const TABLES: Change[] = [
	rows((lines, r) => void lines.splice(r.whole(lines.length), 1 + r.whole(5))),
	rows((lines, r) => {
		const from = r.whole(lines.length);
		lines.splice(r.whole(lines.length), 0, ...lines.slice(from, from + 1 + r.whole(12)));
	}),
	rows(shuffle),
	rows(
		(lines, r) => void lines.splice(r.whole(lines.length), 0, r.pick(['', ',,,,,,,,', ' ', '#', lines[0] as string])),
	),
	rows((lines) => void lines.reverse()),
	cells((table, r) => {
		const x = r.whole((table[0] as string[]).length);
		for (const row of table) row.splice(x, 1);
	}),
	cells((table, r) => {
		const x = r.whole((table[0] as string[]).length);
		for (const row of table) row.splice(x, 0, row[x] ?? '');
	}),
	cells((table, r) => {
		const [a, b] = [r.whole((table[0] as string[]).length), r.whole((table[0] as string[]).length)];
		for (const row of table.slice(r.whole(2))) [row[a], row[b]] = [row[b] ?? '', row[a] ?? ''];
	}),
	cells((table, r) => {
		(table[0] as string[])[r.whole((table[0] as string[]).length)] = r.pick([
			'time',
			'lat',
			'LON',
			'',
			'combine',
			'weight_lb',
			'x',
		]);
	}),
	cells((table, r) => {
		const [y, x] = place(table, r);
		const row = table[y];
		if (row) row[x] = r.pick(r.chance(0.7) ? ODD_NUMBERS : ODD_WORDS);
	}),
	cells((table, r) => {
		const x = r.whole((table[0] as string[]).length);
		const factor = r.pick([0, -1, 1e-6, 0.01, 0.4536, 2.2046, 3.2808, 10, 39.37, 1000, 1e9, 1e300]);
		ofColumn(table, x, (cell) => (Number.isFinite(Number(cell)) && cell !== '' ? String(Number(cell) * factor) : cell));
	}),
	cells((table, r) => {
		const x = r.whole((table[0] as string[]).length);
		const all = r.pick([...ODD_NUMBERS, ...ODD_TIMES, ...ODD_WORDS]);
		const share = r.pick([0.1, 0.5, 1]);
		ofColumn(table, x, (cell) => (r.chance(share) ? all : cell));
	}),
	cells((table, r) => {
		const x = r.chance(0.8)
			? Math.max(0, (table[0] as string[]).indexOf('time'))
			: r.whole((table[0] as string[]).length);
		const [y] = place(table, r);
		const row = table[y];
		if (row && x < row.length) row[x] = r.pick(ODD_TIMES);
	}),
	cells((table, r) => {
		const x = Math.max(0, (table[0] as string[]).indexOf('time'));
		const by_s = r.pick([3600, -3600, 86_400, 7 * 86_400, 3e7, -3e8, 0.3]);
		const from = r.whole(table.length);
		const stop = r.chance(0.3);
		ofColumn(table, x, (cell, y) => {
			const t = Date.parse(cell);
			if (Number.isNaN(t) || y < from) return cell;
			return new Date(stop ? Date.UTC(2026, 9, 3, 15) : t + by_s * 1000).toISOString();
		});
	}),
	(files, r) => {
		const name = nameOf(files, r, '.csv');
		const text = textOf(files, name);
		const at = r.whole(text.length + 1);
		put(files, name, text.slice(0, at) + r.pick(['"', '""', '"\n', ',"', '",', '"a\nb"', "'"]) + text.slice(at));
	},
	cells((table, r) => {
		for (const row of table) row.splice(0, row.length, ...row.map((cell) => (r.chance(0.3) ? `"${cell}"` : cell)));
	}),
	(files, r) => {
		const name = nameOf(files, r);
		const text = textOf(files, name);
		const changed = r.pick([
			`\ufeff${text}`,
			text.replaceAll('\n', '\r\n'),
			text.replaceAll('\n', '\r'),
			text.replaceAll(',', ';'),
			text.replaceAll(',', '\t'),
			text.replaceAll('A', 'Ä'),
			text.replaceAll('.', ','),
			`${text}\u0000`,
			text.toUpperCase(),
		]);
		const coding = r.next();
		if (coding < 0.15) {
			const wide = new Uint8Array(text.length * 2);
			for (let k = 0; k < text.length; k++) wide[2 * k] = text.charCodeAt(k);
			files.set(name, wide);
		} else if (coding < 0.3)
			files.set(
				name,
				Uint8Array.from(changed, (c) => c.charCodeAt(0) & 255),
			);
		else put(files, name, changed);
	},
];

/** Every object and list within a value. */
function holders(value: unknown, into: (unknown[] | Record<string, unknown>)[] = []): typeof into {
	if (typeof value === 'object' && value !== null) {
		into.push(value as Record<string, unknown>);
		for (const one of Object.values(value)) holders(one, into);
	}
	return into;
}

function structure(files: Files, r: Random): void {
	const named = [...files.keys()].filter((n) => n.endsWith('json'));
	const name = r.chance(0.75) ? 'field.json' : r.pick(named);
	let json: unknown;
	try {
		json = JSON.parse(textOf(files, name));
	} catch {
		return;
	}
	const all = holders(json);
	if (all.length === 0) return;
	const holder = r.pick(all) as Record<string, unknown>;
	const keys = Object.keys(holder);
	const key = keys.length > 0 ? r.pick(keys) : '0';
	const odd = () => r.pick(ODD_JSON);
	const kind = r.whole(6);
	if (kind <= 2) holder[key] = odd();
	else if (kind === 3) {
		if (Array.isArray(holder)) holder.splice(Number(key), 1);
		else delete holder[key];
	} else if (kind === 4) {
		if (Array.isArray(holder)) holder.push(r.chance(0.5) ? holder[Number(key)] : odd());
		else
			Object.defineProperty(holder, r.pick(KEYS), {
				value: odd(),
				enumerable: true,
				configurable: true,
				writable: true,
			});
	} else {
		const other = r.pick(all) as Record<string, unknown>;
		const from = Object.keys(other);
		const taken = from.length > 0 ? other[r.pick(from)] : odd();
		// Not into itself: a ring has no text.
		holder[key] = JSON.parse(JSON.stringify(taken ?? null));
	}
	put(files, name, JSON.stringify(json));
}

/** Pins, flags and totals that are allowed, in any company. */
function plans(files: Files, r: Random): void {
	let json: Record<string, unknown>;
	try {
		json = JSON.parse(textOf(files, 'field.json')) as Record<string, unknown>;
	} catch {
		return;
	}
	if (typeof json !== 'object' || json === null || Array.isArray(json)) return;
	const some = <T>(make: () => T, p = 0.5): T | undefined => (r.chance(p) ? make() : undefined);
	const factor = () => ({
		form: some(() => r.pick(['constant', 'step', 'trend', 'flow'])),
		value: some(() => r.pick([0.01, 0.5, 1, 2.2, 100]), 0.3),
	});
	json.pins = {
		clock_offset_s: some(() => r.pick([0, 30, -3600, 3e7])),
		factors: some(() => ({ A: factor(), B: some(factor), C: some(factor, 0.1) })),
		lags: some(() => ({ A: r.pick([0, -20, 12, 300, -120]), B: some(() => 9) })),
		dumps: some(() => ({
			D1: { status: r.pick(['used', 'joined', 'aside']), combine: some(() => r.pick(['A', 'B', 'A+B', 'C'])) },
			D2: some(() => ({ combine: r.pick(['A', 'B', 'A+B']) })),
		})),
	};
	json.flags = {
		standing: some(() => r.pick([0, 0.5, 1])),
		narrow: some(() => r.pick([0, 60])),
		lone: some(() => 0, 0.2),
	};
	json.total = some(() => ({ wet_kg: r.pick([1e-3, 10, 3000, 1e9]), u_pct: r.pick([1e-9, 1, 100]) }), 0.3);
	put(files, 'field.json', JSON.stringify(json));
}

function whole(files: Files, r: Random): void {
	const [a, b] = [nameOf(files, r), nameOf(files, r)];
	switch (r.whole(4)) {
		case 0:
			files.delete(a);
			break;
		case 1:
			files.set(a, new Uint8Array());
			break;
		case 2:
			files.set(a, files.get(b) as Uint8Array);
			break;
		default:
			for (const [name, content] of [
				[b, files.get(a)],
				[a, files.get(b)],
			] as [string, Uint8Array][])
				files.set(name, content);
	}
}

const KINDS: [number, Change][] = [
	[2, bytes],
	[7, (files, r) => r.pick(TABLES)(files, r)],
	[3, structure],
	[1.5, plans],
	[0.3, whole],
];
const SUM = KINDS.reduce((sum, [weight]) => sum + weight, 0);

/** Changes a folder one to four times. */
export function mutate(given: Record<string, string>, r: Random): Files {
	const files: Files = new Map(Object.entries(given).map(([name, text]) => [name, encoder.encode(text)]));
	for (let k = 1 + Math.floor(4 * r.next() ** 2); k > 0 && files.size > 0; k--) {
		let at = r.next() * SUM;
		const [, change] = KINDS.find(([weight]) => (at -= weight) < 0) ?? (KINDS[0] as [number, Change]);
		// A folder from which every table was taken has no table to change.
		if (change === bytes || change === whole || [...files.keys()].some((n) => n.endsWith('.csv'))) change(files, r);
	}
	return files;
}
