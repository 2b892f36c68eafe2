import { expect, it } from 'vitest';
import { worked_s, worktimeOf } from '../../lib/track/path/worktime.ts';

it('long silences count as so long, half on either side; short ones and what is recorded count whole', () => {
	const time = worktimeOf([1000, 1100, 50_000], [1100, 1150, 50_100], 600);
	expect(worked_s(time, 1000)).toBe(0);
	expect(worked_s(time, 940)).toBe(-60);
	expect(worked_s(time, 1150)).toBe(150);
	expect(worked_s(time, 1450)).toBe(450);
	expect(worked_s(time, 20_000)).toBe(450);
	expect(worked_s(time, 49_700)).toBe(450);
	expect(worked_s(time, 49_990)).toBe(740);
	expect(worked_s(time, 50_000)).toBe(750);
	expect(worked_s(time, 50_100)).toBe(850);
	const short = worktimeOf([0, 500], [100, 600], 600);
	expect(worked_s(short, 600)).toBe(600);
	expect(worked_s(worktimeOf([], [], 600), 5)).toBe(5);
});
