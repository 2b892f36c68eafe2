import { matchField } from '../../lib/match/index.ts';
import type { Dump, FieldPlan, LoadBook, Match, Records } from '../../lib/model/index.ts';
import { dump, inputOf, NOON, planOf, recordsOf, type Work } from './hand.ts';

export const TIMES_A = [800, 1640, 2350, 3200, 3890, 4800, 5570, 6400, 7300, 8000];
export const TIMES_B = [1150, 2000, 2870, 3600, 4400, 5160, 6000, 6850, 7600];

/** Two combines that cut steadily, with pauses; each is emptied at its times, which end its work too. */
export const works = (auger: boolean): Work[] => {
	const make = (name: string, times: number[], flow: number): Work => ({
		name,
		from_s: 0,
		to_s: times[times.length - 1]!,
		flow: (t) => (t % 1700 > 1500 ? 0 : flow * (1 + 0.2 * Math.sin(t / 140))),
		standing: (t) => t % 1700 > 1500,
		...(auger ? { auger: (t: number) => times.some((end) => t > end - 80 && t <= end) } : {}),
	});
	return [make('A', TIMES_A, 8), make('B', TIMES_B, 9)];
};

/** The same two combines on two days alike. */
export function twoDays(): Records {
	const day = 86_400;
	const again = works(true).map((w) => ({
		...w,
		from_s: w.from_s + day,
		to_s: w.to_s + day,
		flow: (t: number) => w.flow(t - day),
		auger: (t: number) => w.auger!(t - day),
		standing: (t: number) => w.standing!(t - day),
	}));
	const records = recordsOf([...works(true), ...again]);
	for (let i = 0; i < records.n; i++) records.combine[i] = records.combine[i]! % 2;
	records.combines = ['A', 'B'];
	return records;
}

/** Weights of a combine at factor k, dumps at these seconds, each taking everything but what `rest` leaves. */
export function weigh(
	records: Records,
	c: number,
	k: number,
	times: number[],
	rest: (i: number) => number = () => 0,
): number[] {
	const sum = (to: number): number => {
		let kg = 0;
		for (let i = 0; i < records.n; i++) {
			if (records.combine[i] === c && records.time_s[i]! <= NOON + to) kg += records.flow_kg_s[i]!;
		}
		return kg;
	};
	return times.map((t, i) => {
		const before = i === 0 ? 0 : sum(times[i - 1]!) * k - rest(i - 1);
		return Math.round(sum(t) * k - before - rest(i));
	});
}

export function run(records: Records, book: LoadBook, plan: FieldPlan = planOf(['A', 'B'])): Match {
	return matchField(inputOf(records, book, { plan }));
}

/** The two combines' dumps as one cart log, times moved by `off` seconds on the cart's clock. */
export function cart(records: Records, off: number, named: boolean, restA: (i: number) => number = () => 0) {
	const a = weigh(records, 0, 1.05, TIMES_A, restA);
	const b = weigh(records, 1, 0.94, TIMES_B);
	const all = [
		...TIMES_A.map((t, i) => ({ t, kg: a[i]!, c: 'A' })),
		...TIMES_B.map((t, i) => ({ t, kg: b[i]!, c: 'B' })),
	].sort((x, y) => x.t - y.t);
	return all.map(({ t, kg, c }, i) => ({
		c,
		dump: dump(`D${i + 1}`, i, t - off, kg, named ? { combines: [c] } : {}),
	}));
}

/** The first fourteen dumps of that cart log, and the logs up to them. */
export function begun(off = 0): { right: Records; dumps: Dump[] } {
	const all = recordsOf(works(true));
	const dumps = cart(all, off, true)
		.slice(0, 14)
		.map((r) => r.dump);
	const right = recordsOf(works(true).map((w, c) => ({ ...w, to_s: [TIMES_A, TIMES_B][c]![6]! })));
	return { right, dumps };
}

export const combinesOf = (match: Match, records: Records): string[] =>
	match.fates.map((f) => f.combines.map((c) => records.combines[c]).join('+'));
