import { expect, it } from 'vitest';
import { haulsOf } from '../../../lib/match/outcome/hauls.ts';
import { bookOf, inputOf, problemOf, recordsOf, ticket } from '../hand.ts';

/** A combine unloads every ten minutes; every second unloading completes a truckload, weighed a quarter of an hour later. */
function grainOf(loads: number) {
	const flow = (t: number) => 10 + 2 * Math.sin(t / 700);
	const records = recordsOf([
		{ name: 'A', from_s: 0, to_s: 1200 * loads, flow, auger: (t) => t % 600 > 540 || t % 600 === 0 },
	]);
	const tickets = Array.from({ length: loads }, (_, k) => {
		let kg = 0;
		for (let i = 1200 * k; i < 1200 * (k + 1); i++) kg += records.flow_kg_s[i]!;
		return ticket(String(k), 1200 * (k + 1) + 900, Math.round(0.103 * kg) * 10);
	});
	const book = bookOf([], [], tickets);
	return { problem: problemOf(records, book, inputOf(records, book)), combines: [0], ratio: [1], tickets };
}
const all = (n: number) => Array.from({ length: n }, (_, k) => k);

it('complete tickets, few or many, are complete', () => {
	for (const n of [6, 40]) {
		const [best] = haulsOf(grainOf(n), all(n));
		expect(best!.odd).toBeNull();
		expect(best!.factor).toBeCloseTo(1.03, 3);
	}
});

it('a truckload without a ticket takes what lies between the others', () => {
	const grain = grainOf(8);
	const [best] = haulsOf(
		grain,
		all(8).filter((k) => k !== 4),
	);
	expect(best!.odd).toBe('a truckload between tickets 3 and 5 has no ticket');
	expect(best!.factor).toBeCloseTo(1.03, 2);
	expect(best!.loads[4]!.kg).toBeCloseTo(grain.tickets[4]!.net_kg, -3);
});
