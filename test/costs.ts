/** Processor time of each test file, with its child processes: `STEELYARD_COSTS=FILE npx vitest run` (Linux only). */
import { appendFileSync, readdirSync, readFileSync } from 'node:fs';
import { relative } from 'node:path';
import { afterAll, beforeAll, expect } from 'vitest';

/**
 * Seconds of this process and all below it, living or ended. proc(5): parent is field 4, times are fields 14 to 17, in
 * ticks of 10 ms.
 */
function spent_s(): number {
	const below = new Set([process.pid]);
	const all = new Map<number, { parent: number; ticks: number }>();
	for (const name of readdirSync('/proc')) {
		if (!/^\d+$/.test(name)) continue;
		try {
			const stat = readFileSync(`/proc/${name}/stat`, 'utf8');
			const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
			const ticks = fields.slice(11, 15).reduce((sum, f) => sum + Number(f), 0);
			all.set(Number(name), { parent: Number(fields[1]), ticks });
		} catch {
			// It has ended meanwhile.
		}
	}
	for (let known = 0; known < below.size; ) {
		known = below.size;
		for (const [pid, { parent }] of all) if (below.has(parent)) below.add(pid);
	}
	return [...below].reduce((sum, pid) => sum + (all.get(pid)?.ticks ?? 0) / 100, 0);
}

let before_s = 0;
beforeAll(() => {
	before_s = spent_s();
});
afterAll(() => {
	const now_s = spent_s();
	const file = relative(process.cwd(), expect.getState().testPath ?? '');
	appendFileSync(process.env.STEELYARD_COSTS as string, `${(now_s - before_s).toFixed(1)} s\t${file}\n`);
});
