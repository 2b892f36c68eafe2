import { expect, it } from 'vitest';
import { Worktime } from '../../lib/track/path/worktime.ts';

it('long silences count as so long, half on either side; short ones and what is recorded count whole', () => {
	const time = new Worktime([1000, 1100, 50_000], [1100, 1150, 50_100], 600);
	expect(time.of(1000)).toBe(0);
	expect(time.of(940)).toBe(-60);
	expect(time.of(1150)).toBe(150);
	expect(time.of(1450)).toBe(450);
	expect(time.of(20_000)).toBe(450);
	expect(time.of(49_700)).toBe(450);
	expect(time.of(49_990)).toBe(740);
	expect(time.of(50_000)).toBe(750);
	expect(time.of(50_100)).toBe(850);
	const short = new Worktime([0, 500], [100, 600], 600);
	expect(short.of(600)).toBe(600);
	expect(new Worktime([], [], 600).of(5)).toBe(5);
});
