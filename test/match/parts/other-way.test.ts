import { describe, expect, it } from 'vitest';
import { otherWay } from '../../../lib/match/outcome/other-way.ts';
import type { DumpFate, Match, Unloading } from '../../../lib/model/index.ts';
import { plainMatch } from '../../plain.ts';
import { bookOf, dump, NOON, recordsOf } from '../hand.ts';

const records = recordsOf(['A', 'B'].map((name) => ({ name, from_s: 0, to_s: 60, flow: () => 8 })));
const book = bookOf(['D1', 'D2', 'D3', 'D4', 'D5', 'D6'].map((id, i) => dump(id, i, 600 * i, 6000)));

/** A match of the dumps to combines in turn; `grain` lists the dumps that left grain in a tank. */
function matchOf(
	change: (fates: DumpFate[]) => void = () => {},
	more: Partial<Match> = {},
	grain: number[] = [],
): Match {
	const fates = book.dumps.map(
		(_, d) =>
			({
				dump: d,
				status: 'used',
				combines: [d % 2],
				unloadings: [d],
				end_s: NOON + 600 * d,
			}) as Partial<DumpFate> as DumpFate,
	);
	change(fates);
	const unloadings = fates.map(
		(_, d) => ({ unweighed: null, u_rest_kg: grain.includes(d) ? 2000 : 50 }) as Partial<Unloading> as Unloading,
	);
	const start = { kg: 0, u_kg: 50 };
	return plainMatch({ fates, unloadings, start_kg: [start, start], factors: [1, 1.05], ...more });
}

describe('another way in which the weights fit the logs, in words', () => {
	const said = (...other: Parameters<typeof matchOf>) => otherWay(matchOf(), matchOf(...other), book, records);

	it('names dumps by what becomes of them', () => {
		expect(
			said((f) => {
				f[0]!.combines = [1];
				f[2]!.combines = [1];
				f[1]!.status = 'aside';
				f[3]!.combines = [0, 1];
				f[4]!.end_s += 1200;
				f[5]!.end_s -= 1200;
			}),
		).toBe(
			'D1, D3 from combine B; D2 not used; D4 from combines A and B; D5 from a later tank load; D6 from an earlier tank load',
		);
	});

	it('names a dump that is set aside in the match that is used', () => {
		const used = matchOf((f) => Object.assign(f[1]!, { status: 'aside', combines: [] }));
		expect(otherWay(used, matchOf(), book, records)).toBe('D2 from combine B');
		expect(otherWay(used, used, book, records)).toBe('other times of unloading');
	});

	it('names few of many', () => {
		expect(said((f) => f.forEach((x) => void Object.assign(x, { combines: [1] })))).toBe('D1, D3, D5 from combine B');
		expect(said((f) => f.forEach((x) => void Object.assign(x, { status: 'aside' })))).toBe(
			'D1, D2, D3, D4 and 2 more not used',
		);
	});

	it('names grain in tanks, and what the factors become', () => {
		expect(said(undefined, { factors: [1.0315, 1.0395] }, [3])).toBe(
			'grain left in the tank at D4: factor of A +3.2%, factor of B −1.0%',
		);
		expect(otherWay(matchOf(undefined, {}, [3]), matchOf(), book, records)).toBe('the tank emptied at D4');
		const start = [
			{ kg: 0, u_kg: 50 },
			{ kg: 800, u_kg: 800 },
		];
		expect(said(undefined, { start_kg: start, factors: [Number.NaN, 1.0501] })).toBe(
			'grain in the tank of B at the start',
		);
		expect(otherWay(matchOf(undefined, { start_kg: start }), matchOf(), book, records)).toBe(
			'no grain in the tank of B at the start',
		);
	});

	it('counts tank loads without a weight', () => {
		const more = matchOf();
		more.unloadings.push({ unweighed: 'not weighed', u_rest_kg: 0 } as Partial<Unloading> as Unloading);
		expect(otherWay(matchOf(), more, book, records)).toBe('1 tank load more without a weight');
		expect(otherWay(more, matchOf(), book, records)).toBe('1 tank load fewer without a weight');
	});
});
