/** What a pin takes in the page's worker: stages kept, the scene made and packed. */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Pins } from '../../lib/index.ts';
import { folderOf } from '../sim/index.ts';
import { door } from './door.ts';
import { fieldOf } from './jobs.ts';
import { type Row, spent_ms } from './row.ts';

const { makeScene, openField, packScene, reportHtml, Stages, solveField } = door;

/** @param bounds seconds for a dump, factor or clock pin, and for a threshold */
export async function pins(copies: number, bounds: { pin: number; threshold: number }): Promise<Row[]> {
	const room = mkdtempSync(join(tmpdir(), 'steelyard-bench-'));
	const { folder, records } = fieldOf(copies, room);
	const files = new Map(readdirSync(folder).map((name) => [name, readFileSync(join(folder, name), 'utf8')] as const));
	rmSync(room, { recursive: true });
	const field = await openField(folderOf(files));
	const stages = new Stages();
	const solve = (edited: Pins, flags: Record<string, number> = {}) => {
		const from = spent_ms();
		const plan = { ...field.plan, pins: edited, flags: { ...field.plan.flags, ...flags } };
		const run = solveField({ ...field, plan }, undefined, { stages });
		packScene(makeScene(run));
		return { s: (spent_ms() - from) / 1000, run };
	};
	const size = records.toLocaleString('en-US');
	solve({});
	const combine = field.records.combines[0]!;
	const dumps = field.book.dumps.map((d) => d.id);
	/** The second of two like steps: the first also compiles what it calls. */
	const second = (a: () => { s: number }, b: () => { s: number }) => [a().s, b().s][1]!;
	const steps: [string, number, number][] = [
		[
			'a dump set aside',
			second(
				() => solve({ dumps: { [dumps[3]!]: { status: 'aside' } } }),
				() => solve({ dumps: { [dumps[5]!]: { status: 'aside' } } }),
			),
			bounds.pin,
		],
		[
			'a factor given',
			second(
				() => solve({ factors: { [combine]: { value: 0.97 } } }),
				() => solve({ factors: { [combine]: { value: 0.98 } } }),
			),
			bounds.pin,
		],
		[
			'the clock given',
			second(
				() => solve({ clock_offset_s: 100 }),
				() => solve({ clock_offset_s: 110 }),
			),
			bounds.pin,
		],
		[
			'a threshold',
			second(
				() => solve({}, { lone: 4 }),
				() => solve({}, { lone: 4.5 }),
			),
			bounds.threshold,
		],
	];
	const rows: Row[] = steps.map(([what, value, bound]) => ({
		what: `pin, ${size} records: ${what}`,
		value,
		unit: 's',
		bound,
		note: 'solve, scene and pack, processor time',
	}));
	if (copies === 1) {
		const { run } = solve({});
		const from = spent_ms();
		for (const _ of reportHtml(run, 'us')) {
			// Only made.
		}
		rows.push({
			what: 'report on the page',
			value: (spent_ms() - from) / 1000,
			unit: 's',
			bound: 1,
			note: 'from the run in memory',
		});
	}
	return rows;
}
