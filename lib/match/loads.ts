import type { FieldPlan, Records } from '../model/index.ts';
import { offsetCost } from './clock.ts';
import { COSTS } from './costs.ts';
import type { Scene } from './scene.ts';
import { type Offset, setClock } from './settle.ts';
import { type Solved, solve } from './solve.ts';

/** Fewer weights show no custom. */
const ENOUGH = 4;

/** What the field is taken for in the first round. */
export interface Beginning {
	scene: Scene;
	offset: Offset;
	solved: Solved;
	notes: string[];
	cautions: string[];
}

/**
 * The first round: the clock's offset and a reading with everything wide. Where nobody notes whose grain a weight is,
 * the whole field is read a second time, its weights taken to be of whole cart loads, each with a clock of its own: in
 * the midst of a reading by single tanks one weight of two looks dearer than the next oddity, however wrong all of them
 * together. The cheaper reading of the whole field is kept.
 */
export function firstRound(
	prepared: Scene,
	plan: FieldPlan,
	records: Records,
	step: (share: number) => void,
): Beginning {
	const loads = asWholeLoads(prepared);
	const tanks = begin(prepared, plan, records, (share) => step(loads ? share / 2 : share));
	if (!loads) return tanks;
	const whole = begin(loads, plan, records, (share) => step((1 + share) / 2));
	if (!(wholeCost(whole) + COSTS.loadsUntold < wholeCost(tanks))) return tanks;
	whole.notes.push(
		'The weights fit the logs only as whole cart loads, each with the grain of several combines: note the combines beside such weights.',
	);
	return whole;
}

function begin(scene: Scene, plan: FieldPlan, records: Records, step: (share: number) => void): Beginning {
	const cautions: string[] = [];
	const offset = setClock(scene, plan, cautions, step);
	return { scene, offset, solved: solve(scene, records, offset.at_s, offset.clock.u_s), notes: [], cautions };
}

/**
 * The same field, its weights taken to be of whole cart loads. Null where that is known already, where there is one
 * combine only, and where people note whose grain a weight is: they would have noted both.
 */
function asWholeLoads(scene: Scene): Scene | null {
	if (scene.wholeLoads || scene.flows.length < 2) return null;
	const unnoted = scene.steps.filter((s) => !s.noted).length;
	if (unnoted < ENOUGH || unnoted < 0.9 * scene.steps.length) return null;
	// The clock's search moves the steps' times where the clock was set anew.
	const steps = scene.steps.map((s) => ({ ...s }));
	return { ...scene, steps, wholeLoads: true, mixedCost: COSTS.mixedLoad };
}

/** What a reading of the whole field costs, its clock included. */
function wholeCost({ solved, offset }: Beginning): number {
	return solved.reading.cost + offsetCost(offset.at_s);
}
