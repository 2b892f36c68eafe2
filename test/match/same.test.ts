import { describe, expect, it } from 'vitest';
import type { LoadBook, Records } from '../../lib/model/index.ts';
import { type Aligned, align, aligned } from './fields.ts';

/** What an alignment says of every dump and of what was not weighed, by ids and names that `rename` maps. */
function said({ field, match }: Pick<Aligned, 'field' | 'match'>, rename = (name: string) => name, moved_s = 0) {
	const { combines } = field.records;
	return {
		dumps: new Map(
			match.fates.map((f) => [
				field.book.dumps[f.dump]!.id,
				{
					combines: f.combines.map((c) => rename(combines[c]!)).sort(),
					status: f.status,
					end: Math.round(f.end_s - moved_s),
				},
			]),
		),
		unweighed: match.unloadings
			.filter((u) => u.unweighed !== null)
			.map((u) => [rename(combines[u.combine]!), Math.round(u.end_s - moved_s)])
			.sort(),
		factors: new Map(match.factors.map((k, c) => [rename(combines[c]!), Number(k.toFixed(6))])),
	};
}

const OPTIONS = { seed: 512, kind: 'irregular' } as const;

describe('what must change nothing', async () => {
	const first = await aligned(OPTIONS);
	const expected = said(first);

	it('is not an empty case', () => {
		expect(expected.dumps.size).toBeGreaterThan(10);
		expect(expected.unweighed.length).toBeGreaterThan(0);
	});

	it('shuffling the cart log’s rows', async () => {
		const shuffled = await aligned(OPTIONS, (files) => {
			const [head, ...rows] = files.get('cart.csv')!.trimEnd().split('\n');
			// A fixed shuffle: every seventh row, from the back.
			const mixed = rows.map((row, i) => ({ row, key: (i * 7919) % rows.length })).sort((a, b) => a.key - b.key);
			files.set('cart.csv', `${[head, ...mixed.map((m) => m.row)].join('\n')}\n`);
		});
		expect(said(shuffled)).toEqual(expected);
	});

	it('renaming and reordering the combines', () => {
		const { field } = first;
		const swap: Records = {
			...field.records,
			combines: ['Zeta', 'Alpha'],
			combine: field.records.combine.map((c) => 1 - c),
		};
		const names: Record<string, string> = { Zeta: field.records.combines[1]!, Alpha: field.records.combines[0]! };
		const back = Object.fromEntries(Object.entries(names).map(([a, b]) => [b, a]));
		const book: LoadBook = {
			...field.book,
			tickets: field.book.tickets.map((t) => ({ ...t, combine: t.combine === null ? null : back[t.combine]! })),
		};
		const plan = {
			...field.plan,
			combines: { Zeta: field.plan.combines[names.Zeta!]!, Alpha: field.plan.combines[names.Alpha!]! },
		};
		const renamed = { ...field, records: swap, plan, book };
		const { match } = align(renamed);
		expect(said({ field: renamed, match }, (n) => names[n]!)).toEqual(expected);
	});

	it('weights in pounds', async () => {
		const pounds = await aligned(OPTIONS, (files) => {
			const [head, ...rows] = files.get('cart.csv')!.trimEnd().split('\n');
			const at = head!.split(',').indexOf('weight_kg');
			const cells = rows.map((row) => row.split(','));
			for (const row of cells) row[at] = String(Number(row[at]) / 0.45359237);
			files.set(
				'cart.csv',
				`${[head!.replace('weight_kg', 'weight_lb'), ...cells.map((r) => r.join(','))].join('\n')}\n`,
			);
		});
		const { dumps, unweighed } = said(pounds);
		expect({ dumps, unweighed }).toEqual({ dumps: expected.dumps, unweighed: expected.unweighed });
	});

	it('a constant added to every time', () => {
		const { field } = first;
		const shift = 86_400 * 30;
		const later = <T extends { time_s: number }>(rows: T[]): T[] =>
			rows.map((r) => ({ ...r, time_s: r.time_s + shift }));
		const records = { ...field.records, time_s: field.records.time_s.map((t) => t + shift) };
		const book = {
			dumps: later(field.book.dumps),
			offloads: later(field.book.offloads),
			tickets: later(field.book.tickets),
		};
		const { match } = align(field, book, records);
		expect(said({ field, match }, undefined, shift)).toEqual(expected);
	});

	it('a dump’s row saved once more', () => {
		const { field } = first;
		const d = field.book.dumps[4]!;
		const again = { ...d, id: 'again', order: d.order + 0.5, time_s: d.time_s + 20 };
		const book = { ...field.book, dumps: [...field.book.dumps, again] };
		const withTwin = { ...field, book };
		const { match } = align(withTwin);
		const found = said({ field: withTwin, match });
		const aside = [found.dumps.get('again')!.status, found.dumps.get(d.id)!.status].sort();
		expect(aside).toEqual(['aside', expected.dumps.get(d.id)!.status].sort());
		for (const [id, fate] of expected.dumps) if (id !== d.id) expect(found.dumps.get(id)).toEqual(fate);
		expect(found.unweighed).toEqual(expected.unweighed);
		for (const [name, k] of expected.factors) expect(Math.abs(found.factors.get(name)! / k - 1)).toBeLessThan(0.001);
	});
});

describe('leaving out any one dump', () => {
	it('moves the rough factors by less than half a per cent and turns no other dump', async () => {
		const { field, match } = await aligned({ seed: 513, kind: 'unlabeled' });
		const whole = said({ field, match });
		for (let i = 0; i < field.book.dumps.length; i += 3) {
			const left = field.book.dumps[i]!;
			const book = { ...field.book, dumps: field.book.dumps.filter((d) => d !== left) };
			const fewer = { ...field, book };
			const found = said({ field: fewer, match: align(fewer).match });
			for (const [name, k] of whole.factors) expect(Math.abs(found.factors.get(name)! / k - 1)).toBeLessThan(0.005);
			for (const [id, fate] of found.dumps) expect(fate.combines).toEqual(whole.dumps.get(id)!.combines);
		}
	});
});
