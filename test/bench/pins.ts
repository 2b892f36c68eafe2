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
		const from = performance.now();
		const spent = spent_ms();
		const plan = { ...field.plan, pins: edited, flags: { ...field.plan.flags, ...flags } };
		const run = solveField({ ...field, plan }, undefined, { stages });
		packScene(makeScene(run));
		return { s: (performance.now() - from) / 1000, spent_s: (spent_ms() - spent) / 1000, run };
	};
	const size = records.toLocaleString('en-US');
	solve({});
	const combine = field.records.combines[0]!;
	const dumps = field.book.dumps.map((d) => d.id);
	/** The least of four like steps after a first one, which also compiles what it calls. */
	const felt = (step: (k: number) => ReturnType<typeof solve>) => {
		const times = [0, 1, 2, 3, 4].map(step).slice(1);
		return { s: Math.min(...times.map((t) => t.s)), spent_s: Math.min(...times.map((t) => t.spent_s)) };
	};
	const steps: [string, ReturnType<typeof felt>, number][] = [
		['a dump set aside', felt((k) => solve({ dumps: { [dumps[3 + k]!]: { status: 'aside' } } })), bounds.pin],
		['a factor given', felt((k) => solve({ factors: { [combine]: { value: 0.97 + 0.005 * k } } })), bounds.pin],
		['the clock given', felt((k) => solve({ clock_offset_s: 100 + 5 * k })), bounds.pin],
		['a threshold', felt((k) => solve({}, { lone: 4 + 0.25 * k })), bounds.threshold],
	];
	const rows: Row[] = steps.map(([what, { s, spent_s }, bound]) => ({
		what: `pin, ${size} records: ${what}`,
		value: s,
		unit: 's',
		bound,
		note: `solve, scene and pack; ${spent_s.toFixed(2)} s of processor time`,
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
