/**
 * One day as an operator would key it, in whole pounds: two combines, thirty dumps, ten trucks, four tickets. A reads
 * about 4 % high, B about 2 % low against certified weight; the cart reads 1.2 % low. The same numbers go into the
 * library by `dayBook` and into the page by hand, so both must say the same.
 */
import { seeded } from '../../lib/stats/index.ts';
import { POUND_KG } from '../../lib/units/index.ts';
import { Writer } from './build.ts';

export type DayAct =
	| { do: 'dump'; combine: 'A' | 'B'; reading_lb: number; monitor_lb: number }
	| { do: 'offload'; reading_lb: number }
	| { do: 'ticket'; load: number; net_lb: number; moisture_pct: number };

/** What is done for the first `loads` trucks of the day, their tickets last. */
export function dayActs(loads = 10): DayAct[] {
	const random = seeded(7);
	const acts: DayAct[] = [];
	const tickets: DayAct[] = [];
	for (let load = 1; load <= loads; load++) {
		let level = 0;
		for (let k = 0; k < 3; k++) {
			const combine = (load + k) % 2 === 0 ? 'A' : 'B';
			const cart = Math.round((13_000 + 3000 * random.uniform()) / 20) * 20;
			const certified = cart * 1.012;
			const monitor = certified * (combine === 'A' ? 1.04 : 0.98) * (1 + 0.008 * random.normal());
			level += cart;
			acts.push({ do: 'dump', combine, reading_lb: level, monitor_lb: Math.round(monitor / 10) * 10 });
		}
		acts.push({ do: 'offload', reading_lb: 0 });
		if ([1, 3, 6, 8].includes(load)) {
			const net_lb = Math.round((level * 1.012 * (1 + 0.0015 * random.normal())) / 20) * 20;
			tickets.push({ do: 'ticket', load, net_lb, moisture_pct: Math.round(10 * (17.5 + random.normal() * 0.5)) / 10 });
		}
	}
	return [...acts, ...tickets];
}

/** The day as a book. Loads are numbered from 1. */
export function dayBook(acts: readonly DayAct[] = dayActs()): Writer {
	const w = new Writer('cart');
	w.add('field', { name: 'Day field', season: 2026, crop: 'corn', timeZone: 'UTC' }, 'f');
	w.add('cart', { name: 'Cart' }, 'c');
	w.add('combine', { name: 'A' }, 'A');
	w.add('combine', { name: 'B' }, 'B');
	w.add('truck', { name: 'Truck 1' }, 't');
	let number = 1;
	let load = w.add('load', { number: '1', truck: 't', opened_s: w.now_s }, 'load1');
	let loads = 1;
	for (const a of acts) {
		if (a.do === 'dump') {
			const d = w.add('dump', {
				number: `D${number++}`,
				cart: 'c',
				field: 'f',
				combines: [a.combine],
				reading_kg: a.reading_lb * POUND_KG,
			});
			w.add('reading', {
				combine: a.combine,
				dump: d,
				field: 'f',
				how: 'load',
				value: a.monitor_lb,
				unit: 'lb',
				basis: 'wet',
			});
		} else if (a.do === 'offload') {
			w.add('offload', { number: `O${loads}`, cart: 'c', load, reading_kg: a.reading_lb * POUND_KG });
			loads++;
			if (loads <= 10) load = w.add('load', { number: String(loads), truck: 't', opened_s: w.now_s }, `load${loads}`);
		} else
			w.add('ticket', {
				number: `T${a.load}`,
				load: `load${a.load}`,
				net_kg: a.net_lb * POUND_KG,
				moisture_pct: a.moisture_pct,
			});
	}
	return w;
}
