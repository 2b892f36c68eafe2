/**
 * What goes wrong on an operator's day, kind by kind, and what the load book answers:
 * `npx tsx test/book/mishaps.ts [SEEDS] [PATTERN]`. A day is right where every factor is within 1.5 half-widths of the truth, or 1%;
 * it is said where a caution, a doubt, an odd row or a question at entry names the cause or a bad dump.
 */
import {
	advise,
	type Book,
	bookFills,
	carriedOver,
	doubts,
	ledger,
	oddities,
	reconcile,
	running,
	scaleRatio,
	twins,
	withCarried,
} from '../../lib/book/index.ts';
import {
	type DayOptions,
	type DumpAct,
	dumpsOf,
	keyed,
	nameOf,
	type OperatorDay,
	operatorDay,
	ticketsOf,
	trueFactor,
	unitOf_kg,
} from './operator.ts';

interface Mishap {
	options?: DayOptions;
	spoil?: (day: OperatorDay) => void;
	/** Cautions that name the cause, or advice; a bad dump that is named counts too. */
	cause?: RegExp;
	/** How a dump is entered, where not as it was. */
	entered?: (day: OperatorDay) => (dump: DumpAct) => { combine: number; time_s: number };
}

const some = (day: OperatorDay, n = 1): DumpAct[] => {
	const left = dumpsOf(day);
	return Array.from({ length: Math.min(n, left.length) }, () => {
		const [d] = left.splice(Math.floor(day.random.uniform() * left.length), 1);
		d!.bad = true;
		return d!;
	});
};

/** A weight as mistyped: the reading or the net, the other following from it. */
function retyped(d: DumpAct, how: (net_kg: number) => number): void {
	const by = how(d.net_kg) - d.net_kg;
	d.net_kg += by;
	d.reading_kg += by;
}
/** Two neighboring digits exchanged, from the given one on. */
const swapped = (x: number, from: number, step: number): number => {
	const s = String(Math.round(x / step));
	for (let i = from; i < s.length - 1; i++)
		if (s[i] !== s[i + 1]) return step * Number(s.slice(0, i) + s[i + 1] + s[i] + s.slice(i + 2));
	return 1.1 * x;
};
const shownAs = (day: OperatorDay, d: DumpAct, how: (value: number) => number): void => {
	d.entered = how((day.total ? d.counter_kg : d.shown_kg) / unitOf_kg(day.unit));
	d.bad = true;
};
const second = (day: OperatorDay): DumpAct[] => dumpsOf(day).slice(dumpsOf(day).length / 2);
const each = <T>(list: readonly T[], act: (one: T) => void): void => {
	for (const one of list) act(one);
};
const LOADS: DayOptions = { total: false };
const lost = (share: number): number => (share > 0.5 ? 0.93 : 1);

const partly = (chance: number) => (day: OperatorDay) => {
	day.keys = 'net';
	const dumps = dumpsOf(day);
	let done = 0;
	dumps.forEach((d, i) => {
		const next = dumps.slice(i + 1).find((x) => x.combine === d.combine);
		if (!next || day.random.uniform() > chance || (chance < 0.2 && done > 0)) return;
		const kg = d.net_kg * (0.15 + 0.3 * day.random.uniform());
		d.net_kg -= kg;
		next.net_kg += kg;
		d.bad = next.bad = true;
		done++;
	});
};
const zeroOff = (from: number) => (day: OperatorDay) => {
	const dumps = dumpsOf(day);
	let empty = true;
	for (const a of day.acts) {
		if (a.do === 'dump' && dumps.indexOf(a) >= from * dumps.length) {
			if (empty) a.net_kg += 400;
			a.reading_kg += 400;
			a.bad = empty;
		}
		if (a.do === 'offload') a.reading_kg = 0;
		empty = a.do === 'offload';
	}
};
const early = (day: OperatorDay) => {
	const moved = day.acts.filter((a) => a.do !== 'ticket');
	moved.forEach((a, i) => {
		if (a.do !== 'dump' || day.random.uniform() > 0.3) return;
		const kg = 150 + 200 * day.random.uniform();
		a.net_kg -= kg;
		a.reading_kg -= kg;
		a.bad = true;
		const next = moved[i + 1];
		if (next) next.net_kg += kg;
	});
};
const dried = (day: OperatorDay) => {
	for (const t of ticketsOf(day)) t.net_kg *= (100 - t.moisture_pct) / 84.5;
};
const missed = (which: (i: number) => boolean) => (day: OperatorDay) => {
	day.keys = 'net';
	dumpsOf(day).forEach((d, i, all) => {
		d.lost = which(i);
		if (day.total && i > 0 && all[i - 1]!.lost) d.bad = true;
	});
};

export const MISHAPS: Record<string, Mishap> = {
	none: {},
	'none, scale never checked': { options: { limit_pct: null } },
	...Object.fromEntries([1, 2, 3, 4].map((dumps) => [`only ${dumps}`, { options: { dumps } }])),
	'every second dump': { options: LOADS, spoil: missed((i) => i % 2 === 1) },
	'every second dump, running total': {
		options: { total: true, combines: 1 },
		spoil: missed((i) => i % 2 === 1),
		cause: /units/,
	},
	'one dump missed, running total': { options: { total: true, dumps: 12 }, spoil: missed((i) => i === 5) },
	'digits of a weight swapped': {
		options: LOADS,
		spoil: (day) => each(some(day), (d) => retyped(d, (x) => swapped(x, 1, 10))),
	},
	'two weights mistyped': {
		options: LOADS,
		spoil: (day) => each(some(day, 2), (d) => retyped(d, (x) => swapped(x, 0, 10))),
	},
	'weight with a zero more': { options: LOADS, spoil: (day) => each(some(day), (d) => retyped(d, (x) => 10 * x)) },
	'weight with a digit less': {
		options: LOADS,
		spoil: (day) => each(some(day), (d) => retyped(d, (x) => Math.floor(x / 10))),
	},
	...Object.fromEntries(
		[2, 3].map((dumps) => [
			`one of ${dumps} weights mistyped`,
			{
				options: { ...LOADS, dumps, combines: 1 },
				spoil: (day: OperatorDay) => each(some(day), (d) => retyped(d, (x) => swapped(x, 0, 10))),
			},
		]),
	),
	'one of 2 and 2 weights mistyped': {
		options: { ...LOADS, dumps: 4, combines: 2 },
		spoil: (day) => each(some(day), (d) => retyped(d, (x) => swapped(x, 0, 10))),
	},
	'digits of a monitor reading swapped': {
		options: LOADS,
		spoil: (day) => each(some(day), (d) => shownAs(day, d, (x) => swapped(x, 1, 1))),
	},
	'digits of a running total swapped': {
		options: { total: true },
		spoil: (day) => each(some(day), (d) => shownAs(day, d, (x) => swapped(x, 1, 1))),
	},
	'monitor in another unit, all': {
		options: LOADS,
		spoil: (day) => each(dumpsOf(day), (d) => shownAs(day, d, (x) => (day.unit === 'lb' ? x / 56 : 56 * x))),
	},
	'monitor in another unit, one': {
		options: LOADS,
		spoil: (day) => each(some(day), (d) => shownAs(day, d, (x) => (day.unit === 'lb' ? x / 56 : 56 * x))),
	},
	'kilograms as pounds, one': {
		options: LOADS,
		spoil: (day) => each(some(day), (d) => shownAs(day, d, (x) => 0.4536 * x)),
	},
	'monitor in another unit from noon': {
		options: LOADS,
		spoil: (day) => each(second(day), (d) => shownAs(day, d, (x) => (day.unit === 'lb' ? 0.4536 * x : 56 * x))),
	},
	'monitor never reset': {
		options: LOADS,
		spoil: (day) => each(dumpsOf(day), (d) => shownAs(day, d, () => d.counter_kg / unitOf_kg(day.unit))),
	},
	'monitor not reset once': {
		options: { ...LOADS, dumps: 14, combines: 1 },
		spoil: (day) => {
			const [a, b] = dumpsOf(day).slice(6, 8);
			shownAs(day, b!, (x) => x + a!.shown_kg / unitOf_kg(day.unit));
		},
	},
	'saved twice': {
		options: { ...LOADS, keys: 'net' },
		spoil: (day) => {
			const [d] = some(day);
			day.acts.splice(day.acts.indexOf(d!) + 1, 0, { ...d!, id: `${d!.id}x`, time_s: d!.time_s + 90 });
		},
	},
	'wrong combine': {
		options: { ...LOADS, combines: 2 },
		entered: (day) => {
			const bad = some(day);
			return (d) => (bad.includes(d) ? { ...d, combine: 1 - d.combine } : d);
		},
	},
	'names exchanged from noon': {
		options: { ...LOADS, combines: 2 },
		cause: /names|monitor/,
		entered: (day) => {
			const bad = second(day);
			return (d) => (bad.includes(d) ? { ...d, combine: 1 - d.combine } : d);
		},
	},
	'grain left in the tank once': { options: LOADS, spoil: partly(0.15) },
	'grain left in the tank often': { options: LOADS, spoil: partly(0.4), cause: /rests/ },
	'scale 7% low from noon, tickets': {
		options: { ...LOADS, dumps: 24, tickets: 'all', scaleAt: lost },
		cause: /cart|drift/,
	},
	'scale 7% low from noon': {
		options: { ...LOADS, dumps: 24, combines: 2, tickets: 'none', scaleAt: lost },
		cause: /cart|drift/,
	},
	'scale 7% low from noon, one combine': {
		options: { ...LOADS, dumps: 16, combines: 1, tickets: 'none', scaleAt: lost },
		cause: /cart|drift|monitor/,
	},
	'scale drifts by 4%, tickets': {
		options: { ...LOADS, dumps: 24, tickets: 'all', scaleAt: (share) => 1 - 0.04 * share },
		cause: /cart|drift/,
	},
	'scale drifts by 4%': {
		options: { ...LOADS, dumps: 24, tickets: 'none', scaleAt: (share) => 1 - 0.04 * share },
		cause: /cart|drift/,
	},
	'zero off, tickets': { options: { ...LOADS, dumps: 24, tickets: 'all' }, spoil: zeroOff(0), cause: /zero/ },
	'zero off': { options: { ...LOADS, dumps: 24, tickets: 'none' }, spoil: zeroOff(0), cause: /zero/ },
	'zero off from noon': { options: { ...LOADS, dumps: 24, tickets: 'none' }, spoil: zeroOff(0.5), cause: /zero/ },
	'weights saved early, tickets': {
		options: { ...LOADS, dumps: 24, tickets: 'all' },
		spoil: early,
		cause: /hasty|rests/,
	},
	'weights saved early': { options: { ...LOADS, dumps: 24, tickets: 'none' }, spoil: early, cause: /hasty|rests/ },
	'two carts by turns as one': {
		options: { ...LOADS, dumps: 24, tickets: 'none', scaleAt: (_, load) => (load % 2 === 0 ? 1.04 : 1) },
		cause: /two|hasty/,
	},
	'dry tickets': { options: { ...LOADS, dumps: 24, tickets: 'all' }, spoil: dried, cause: /dry|tickets/ },
	'dry tickets, scale never checked': {
		options: { ...LOADS, dumps: 24, tickets: 'all', limit_pct: null },
		spoil: dried,
		cause: /dry|tickets/,
	},
	'two tickets exchanged': {
		options: { ...LOADS, dumps: 24, tickets: 'all' },
		spoil: (day) => {
			const [a, , b] = ticketsOf(day);
			[a!.net_kg, b!.net_kg] = [b!.net_kg, a!.net_kg];
		},
		cause: /ticket|odd load/,
	},
	'one of few tickets foreign': {
		options: { ...LOADS, dumps: 6, tickets: 'all' },
		spoil: (day) => {
			ticketsOf(day)[0]!.net_kg *= day.random.uniform() < 0.5 ? 0.9 : 1.08;
		},
		cause: /ticket|odd load/,
	},
	'gross as net, all tickets': {
		options: { ...LOADS, dumps: 24, tickets: 'all' },
		spoil: (day) => {
			for (const t of ticketsOf(day)) t.net_kg += 14_000;
		},
		cause: /ticket|odd load/,
	},
	'recalibrated, recorded': {
		options: { ...LOADS, dumps: 20, factorAt: (c, share) => (c === 0 && share > 0.5 ? 1.08 : 1) },
		spoil: (day) => {
			const at = dumpsOf(day).findIndex((d, i) => d.combine === 0 && i / 19 > 0.5);
			day.recalibrated_s[0] =
				dumpsOf(day)
					.slice(0, at)
					.findLast((d) => d.combine === 0)!.time_s + 30;
		},
	},
	recalibrated: {
		options: { ...LOADS, dumps: 24, factorAt: (c, share) => (c === 0 && share > 0.5 ? 1.08 : 1) },
		cause: /monitor|cart/,
	},
	'recalibrated late': {
		options: { ...LOADS, dumps: 16, combines: 1, factorAt: (_, share) => (share > 0.75 ? 1.08 : 1) },
		cause: /monitor|cart/,
	},
	'tablet clock jumps an hour ahead': {
		options: LOADS,
		spoil: (day) => {
			const at_s = second(day)[0]!.time_s;
			for (const a of day.acts) if (a.time_s >= at_s) a.time_s += 3600;
		},
	},
	'tablet clock jumps an hour back': {
		options: LOADS,
		spoil: (day) => {
			const at_s = second(day)[0]!.time_s;
			for (const a of day.acts) if (a.time_s >= at_s) a.time_s -= 3600;
		},
		cause: /odd row/,
	},
	'one dump entered late': {
		options: { ...LOADS, keys: 'net' },
		entered: (day) => {
			const late = some(day);
			return (d) => (late.includes(d) ? { ...d, time_s: d.time_s + 2400 } : d);
		},
	},
	'one offload not entered': {
		options: { ...LOADS, dumps: 16 },
		spoil: (day) => {
			const first = day.acts.find((a) => a.do === 'offload')!;
			first.lost = true;
			day.acts = day.acts.filter((a) => a.do !== 'ticket' || a.load !== first.load);
			const next = day.acts.slice(day.acts.indexOf(first)).find((a) => a.do === 'dump');
			if (next) next.bad = true;
		},
		cause: /odd row/,
	},
};

/** A day's answer, scored. */
export function scored(mishap: Mishap, seed: number) {
	const day = operatorDay(seed, mishap.options);
	mishap.spoil?.(day);
	const book = keyed(day, mishap.entered?.(day));
	const { factors, cautions } = running(book, { field: 'f', season: 2026 });
	const named = new Set([
		...factors.flatMap((f) => [
			...doubts(f, 2).flatMap((d) => d.dumps),
			...f.points.flatMap((p) => (p.wrong ? p.dumps : [])),
		]),
		...bookFills(book).waiting.map((w) => w.dump),
		...cautions.flatMap((c) => ('dumps' in c ? c.dumps : 'dump' in c ? [c.dump] : [])),
		...twins(book).flatMap((t) => t.dumps),
		...dumpsOf(day).flatMap((d) => (oddities(book, d.id).length > 0 || askedAbout(book, d) ? [d.id] : [])),
	]);
	const ratio = scaleRatio(book, 'c', 2026);
	const texts = [
		...factors.map((f) => advise(f, ratio.parts, 2, null, cautions).kind),
		...cautions.map((c) => c.kind),
		...ratio.pairs.map((p) => p.reason ?? ''),
		...reconcile(book).loads.map((l) => (l.odd ? 'odd load' : '')),
		...ledger(book).weighings.map((w) => (w.odd.length > 0 ? 'odd row' : '')),
	];
	const said =
		dumpsOf(day).some((d) => d.bad && named.has(d.id)) || texts.some((t) => t !== '' && mishap.cause?.test(t));
	const parts = factors.flatMap(({ value, interval, levelError_pct: level }, c) => {
		if (value === null) return [];
		const [truth, end_pct] = [trueFactor(day, c), 100 * (1 / day.factors[c]! - 1)];
		const half = (interval![1] - interval![0]) / 2;
		return [
			{
				right: Math.abs(value - truth) <= Math.max(1.5 * half, 0.01 * truth),
				inside: truth >= interval![0] && truth <= interval![1],
				levelInside: end_pct >= level![0] && end_pct <= level![1],
				half_pct: (100 * half) / value,
			},
		];
	});
	return { right: parts.every((p) => p.right), said, parts, cautioned: cautions.length > 0 };
}

/** The same day on two fields: the answers on the second, after few dumps there, with what is carried over from the first. */
export function scoredCarried(mishap: Mishap, seed: number) {
	const day = operatorDay(seed, mishap.options);
	mishap.spoil?.(day);
	const here = dumpsOf(day).slice(-Math.max(2, Math.round(dumpsOf(day).length / 6)));
	const book = keyed(day, mishap.entered?.(day), (d) => (here.includes(d) ? 'f' : 'e'));
	const { factors } = running(book, { field: 'f', season: 2026 });
	return day.factors.flatMap((_, c) => {
		const from = carriedOver(book, nameOf(c), 'f');
		const both = from && withCarried(book, from, 'f');
		if (!both) return [];
		const [low, high] = both.interval_pct;
		const off = 100 * (1 / trueFactor(day, c, here) - 1);
		return [
			{
				inside: off >= low && off <= high,
				half_pct: (high - low) / 2,
				off_pct: Math.abs(off - both.error_pct),
				// The answer by the second field's own weights.
				ownInside: off >= factors[c]!.errorInterval_pct![0] && off <= factors[c]!.errorInterval_pct![1],
			},
		];
	});
}

/** Whether a reading so far from its dump's weight is questioned as it is entered (`askReading`). */
function askedAbout(book: Book, d: DumpAct): boolean {
	if (d.lost || d.monitor_kg === null) return false;
	const fill = bookFills(book).fills.find((f) => f.dumps.includes(d.id));
	return fill !== undefined && Math.abs(fill.monitor[0]!.kg / fill.cart_kg - 1) > 0.3;
}

if (process.argv[1]?.endsWith('mishaps.ts')) {
	const [, , seeds = '16', pattern = '.'] = process.argv;
	const all = { right: 0, said: 0, wrong: 0 };
	console.log(
		`${''.padEnd(38)} right  said wrong | half  inside  from here on inside | with a caution | carried over: half  off inside, on its own`,
	);
	for (const [name, mishap] of Object.entries(MISHAPS)) {
		if (!new RegExp(pattern).test(name)) continue;
		const days = Array.from({ length: Number(seeds) }, (_, i) => scored(mishap, i + 1));
		const count = (of: (d: (typeof days)[number]) => boolean) => days.filter(of).length;
		const parts = days.flatMap((d) => d.parts);
		const share = (of: (p: (typeof parts)[number]) => boolean) =>
			`${Math.round((100 * parts.filter(of).length) / parts.length)}%`;
		const [right, said] = [count((d) => d.right), count((d) => !d.right && d.said)];
		const wrong = days.length - right - said;
		all.right += right;
		all.said += said;
		all.wrong += wrong;
		const half = parts.reduce((s, p) => s + p.half_pct, 0) / parts.length;
		const carried = days.flatMap((_, i) => scoredCarried(mishap, i + 1));
		const mean = (of: (c: (typeof carried)[number]) => number) =>
			carried.reduce((s, c) => s + of(c), 0) / carried.length;
		console.log(
			`${name.padEnd(38)} ${[right, said, wrong].map((n) => String(n).padStart(5)).join(' ')} | ${half.toFixed(1).padStart(4)} ${share((p) => p.inside).padStart(5)} ${share((p) => p.levelInside).padStart(5)} | ${String(count((d) => d.cautioned)).padEnd(14)} | ${mean((c) => c.half_pct).toFixed(1)} ${mean((c) => c.off_pct).toFixed(1)} ${Math.round(mean((c) => 100 * Number(c.inside)))}% ${Math.round(mean((c) => 100 * Number(c.ownInside)))}%`,
		);
	}
	console.log(all);
}
