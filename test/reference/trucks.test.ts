import { describe, expect, it } from 'vitest';
import type { Dump, DumpFate, LoadBook, Offload, Ticket } from '../../lib/model/index.ts';
import { truckLoads } from '../../lib/reference/index.ts';

/** Rows as "D1 8000", "L1 16000 T1"; a dump's fate after a slash: "D2 6000 / weight not believed". */
function book(rows: string[], tickets: Record<string, number> = {}): { book: LoadBook; fates: DumpFate[] } {
	const made: LoadBook = { dumps: [], offloads: [], tickets: [] };
	const fates: DumpFate[] = [];
	rows.forEach((row, order) => {
		const [what, reason] = row.split(' / ') as [string, string?];
		const [id, kg, truckLoad] = what.split(' ') as [string, string, string?];
		const time_s = 1_791_000_000 + 600 * order;
		const common = { id, order, time_s, timeGrain: 'second', weight_kg: Number(kg), scale: null };
		const origin = { file: 'cart.csv', row: order + 2 };
		if (id.startsWith('L')) {
			made.offloads.push({ ...common, origin, truckLoad: truckLoad ?? null } as unknown as Offload);
			return;
		}
		made.dumps.push({ ...common, origin, truckLoad: null, combines: ['A'] } as unknown as Dump);
		fates.push({ status: reason ? 'aside' : 'used', reason: reason ?? null, fill: 'A1' } as unknown as DumpFate);
	});
	for (const [name, kg] of Object.entries(tickets)) {
		made.tickets.push({
			ticket: `4${name}`,
			truckLoad: name,
			net_kg: kg,
			combine: null,
			order: 0,
		} as unknown as Ticket);
	}
	return { book: made, fates };
}

const loads = (rows: string[], tickets?: Record<string, number>) => {
	const made = book(rows, tickets);
	return truckLoads(made.book, made.fates);
};

describe('truck by truck', () => {
	it('offloads, the dumps that filled the cart, tickets', () => {
		const [first, second] = loads(['D1 8000', 'D2 9000', 'L1 17010 T1', 'D3 9500', 'L2 9490 T2'], { T1: 17_180 });
		expect(first).toEqual({
			truck_load: 'T1',
			offloads_kg: 17_010,
			dumps_kg: 17_000,
			ticket_kg: 17_180,
			difference_kg: 10,
			remark: null,
			dumps: ['D1', 'D2'],
		});
		expect(second).toMatchObject({ dumps_kg: 9500, difference_kg: -10, ticket_kg: null, remark: null });
	});

	it('gives the one dump that is not believed its weight back', () => {
		const [first, second] = loads(['D1 8000', 'D2 6000 / not believed', 'L1 17010 T1', 'D3 9500', 'L2 9490 T2']);
		expect(first).toMatchObject({ difference_kg: 3010, repaired: { dump: 'D2', cart_kg: 9010, used: false } });
		expect(first?.remark).toContain('dump D2 was about 19,900 lb');
		expect(second).toMatchObject({ difference_kg: -10, remark: null });
	});

	it('a weight that is too high does not stay in the cart for ever', () => {
		const rows = loads(['D1 8000', 'D2 12000 / not believed', 'L1 17010 T1', 'D3 9500', 'L2 9490 T2']);
		expect(rows.map((r) => r.difference_kg)).toEqual([-2990, -10]);
		expect(rows[0]).toMatchObject({ repaired: { dump: 'D2', cart_kg: 9010, used: false } });
	});

	it('a dump that is not believed although the truck got its weight was not mistyped', () => {
		const [first] = loads(['D1 8000', 'D2 9000 / not believed', 'L1 17010 T1', 'D3 9500', 'L2 9490 T2']);
		expect(first?.repaired).toBeUndefined();
		expect(first?.remark).toBe(
			'agrees with its dumps, so no wrong weight was entered for D2: check the log, the tank and the scale',
		);
	});

	it('a second offload right after the first shows that the cart was not empty between', () => {
		const rows = loads(['D1 8000', 'D2 6000 / not believed', 'L1 8010 T1', 'L2 9010 T2', 'D3 9500', 'L3 9490 T3']);
		expect(rows[0]).toMatchObject({ dumps_kg: 8010, difference_kg: 0 });
		expect(rows[1]).toMatchObject({ difference_kg: 3020, repaired: { dump: 'D2', cart_kg: 9020 } });
	});

	it('a weight saved twice is named, not repaired', () => {
		const rows = loads(['D1 8000', 'D2 9000', 'D3 9000 / logged twice', 'L1 17010 T1', 'D4 9500', 'L2 9490 T2']);
		expect(rows.map((r) => r.difference_kg)).toEqual([-8990, -10]);
		expect(rows[0]?.remark).toBe('the dumps fit without D3');
		expect(rows[0]?.repaired).toBeUndefined();
	});

	it('names a missing dump as missing', () => {
		const [first] = loads(['D1 8000', 'L1 17010 T1', 'D3 9500', 'L2 9490 T2']);
		expect(first).toMatchObject({ difference_kg: 9010 });
		expect(first?.remark).toMatch(/more than its dumps/);
	});

	it('grain that stays in the cart goes with the next truck', () => {
		const rows = loads(['D1 9000', 'D2 9000', 'L1 12000 T1', 'D3 9500', 'L2 15490 T2', 'D4 8000', 'L3 8000 T3']);
		expect(rows.map((r) => [r.dumps_kg, r.difference_kg])).toEqual([
			[12_000, 0],
			[15_500, -10],
			[8000, 0],
		]);
		expect(rows[0]?.remark).toContain('not emptied between this load and T2');
		expect(rows[2]?.remark).toBeNull();
	});

	it('two offloads into one truck are one load', () => {
		const rows = loads(['D1 9000', 'L1 9000 T1', 'D2 8000', 'L2 8010 T1']);
		expect(rows).toHaveLength(1);
		expect(rows[0]).toMatchObject({ offloads_kg: 17_010, dumps_kg: 17_000, difference_kg: 10, remark: null });
	});

	it('knows nothing of dumps where none was logged, nor of offloads behind a ticket alone', () => {
		const rows = loads(['L1 9000 T1'], { T1: 9090, T9: 20_000 });
		expect(rows[0]).toMatchObject({ offloads_kg: 9000, dumps_kg: null, difference_kg: null, ticket_kg: 9090 });
		expect(rows[1]).toMatchObject({ truck_load: 'T9', offloads_kg: null, ticket_kg: 20_000 });
	});
});

describe('what is said of a truck, word for word', () => {
	it.each<[string, string[], string | null]>([
		['more', ['D1 8000', 'L1 10000 T1'], '4,400 lb (2,000 kg) more than its dumps: a dump may be missing or too low'],
		[
			'less',
			['D1 8000', 'D2 4000', 'L1 10000 T1', 'D3 9000', 'L2 9000 T2'],
			'4,400 lb (2,000 kg) less than its dumps: a dump may be too high or entered twice',
		],
		['left', ['D1 8000', 'L1 5000 T1'], '6,600 lb (3,000 kg) stayed in the cart'],
		['the limit of the same weight', ['D1 5000', 'L1 5100 T1'], null],
		['beyond it', ['D1 5000', 'L1 5101 T1'], '220 lb (100 kg) more than its dumps: a dump may be missing or too low'],
		[
			'two weights that are right',
			['D1 8000 / odd', 'D2 9000 / odd', 'L1 17000 T1'],
			'agrees with its dumps, so no wrong weight was entered for D1 and D2: check the log, the tank and the scale',
		],
		['a weight that is worth nothing', ['D1 8000', 'D2 6000 / odd', 'L1 1000 T1', 'D3 9000', 'L2 9000 T2'], null],
	])('%s', (_, rows, remark) => {
		expect(loads(rows)[0]!.remark).toBe(remark);
	});

	it('a dump without a fill is not said to be right', () => {
		const made = book(['D1 8000 / odd', 'L1 8000 T1']);
		made.fates[0]!.fill = null;
		expect(truckLoads(made.book, made.fates)[0]!.remark).toBeNull();
	});

	it('grain straight from a combine is named, in a truck of the cart’s and in one of its own', () => {
		const made = book(['D1 8000', 'L1 8000 T1'], { T1: 12_000, T2: 9000, T3: 7000 });
		made.book.tickets[0]!.combine = 'A';
		made.book.tickets[1]!.combine = 'A';
		const again = { ...made.book.tickets[1]!, net_kg: 1000, combine: null };
		made.book.tickets.push(again);
		const rows = truckLoads(made.book, made.fates);
		expect(rows.map((r) => [r.truck_load, r.ticket_kg, r.remark])).toEqual([
			['T1', 12_000, 'also took grain straight from a combine'],
			['T2', 10_000, 'went straight from a combine into the truck'],
			['T3', 7000, 'no offload from the cart is entered for it'],
		]);
		expect(rows[2]).toEqual({
			truck_load: 'T3',
			offloads_kg: null,
			dumps_kg: null,
			difference_kg: null,
			dumps: [],
			ticket_kg: 7000,
			remark: 'no offload from the cart is entered for it',
		});
		// Where no cart weighed anything, a ticket without an offload is no fault.
		const bare = book([], { T1: 12_000 });
		expect(truckLoads(bare.book, [])[0]!.remark).toBeNull();
		bare.book.tickets[0]!.combine = 'A';
		expect(truckLoads(bare.book, [])[0]!.remark).toBe('went straight from a combine into the truck');
	});

	it('a weight that the truck gave for a dump is used where the match took it', () => {
		const made = book(['D1 8000', 'D2 6000 / odd', 'L1 17010 T1', 'D3 9500', 'L2 9490 T2']);
		made.fates[1]!.byTruck = true;
		const [first] = truckLoads(made.book, made.fates);
		expect(first).toMatchObject({
			remark: 'dump D2 was about 19,900 lb (9,000 kg) by this truckload',
			repaired: { dump: 'D2', cart_kg: 9010, used: true },
		});
	});
});
