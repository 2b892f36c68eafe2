import { carryOut } from './carry.ts';
import { COSTS, USUAL } from './costs.ts';
import { finish } from './finish.ts';
import { massAt } from './mass.ts';
import { offerMixed } from './mixed.ts';
import { type Choice, plainChoice, type Reading } from './reading.ts';
import { offerRepeat } from './repeats.ts';
import type { Scene, Table } from './scene.ts';
import { offerNormal } from './single.ts';
import { learnRatio } from './state.ts';
import type { Step } from './steps.ts';

/** How thoroughly to look. */
export interface Effort {
	/** Readings kept after each dump. */
	width: number;
	/** Follow the auger's runs one by one, told unloadings and mixed weights that nobody noted. */
	whole: boolean;
	/** How far the clock's offset itself may be off here, seconds (standard deviation). */
	clock_s: number;
	/** Give up where even the best reading costs more than this: what it costs so far is returned. */
	limit?: number;
}

/** Readings this much dearer than the best are dropped, nats. */
const HOPELESS = 30;

/**
 * Aligns dumps with logs for one offset of the clock: a beam over dumps in order of time. Every reading carries what
 * it makes one believe of factors and tank levels, so that its cost is how well weights, levels and times fit it.
 *
 * @returns readings of all dumps, cheapest first
 */
export function align(scene: Scene, table: Table, effort: Effort): Reading[] {
	let beam = beginnings(scene, table);
	const limit = effort.limit ?? Number.POSITIVE_INFINITY;
	for (let i = 0; i < scene.steps.length; i++) {
		const offers: Offers = { list: [], best: Number.POSITIVE_INFINITY };
		const width = effort.width;
		for (const reading of beam) offer(scene, table, effort, i, reading, offers);
		offers.list.sort((a, b) => a.cost - b.cost);
		beam = pick(scene, offers.list, width);
		if ((beam[0]?.cost ?? 0) > limit) return beam;
	}
	const ended = beam.map((r) => finish(scene, table, r));
	return ended.sort((a, b) => a.cost - b.cost);
}

/** One more choice after a reading, and what both cost together. */
export interface Offer {
	cost: number;
	parent: Reading;
	choice: Choice;
}

interface Offers {
	list: Offer[];
	best: number;
}

/** Every tank is empty at the start, or some are not. */
function beginnings(scene: Scene, table: Table): Reading[] {
	const C = scene.flows.length;
	const D = 2 * C;
	const { habits } = scene;
	const list: Reading[] = [];
	const sets = C <= 4 ? 1 << C : 1;
	for (let set = 0; set < sets; set++) {
		const x = new Float64Array(D);
		const P = new Float64Array(D * D);
		let cost = 0;
		for (let c = 0; c < C; c++) {
			x[c] = habits.factor[c] as number;
			P[c * D + c] = (habits.u_factor[c] as number) ** 2;
			const l = C + c;
			P[l * D + l] = USUAL.clinging_kg ** 2;
			if (set & (1 << c)) {
				const some = COSTS.startShare * (scene.tank_kg[c] as number);
				x[l] = some;
				P[l * D + l] = some * some;
				cost += COSTS.startsWithGrain;
			}
		}
		const belief = { x, P };
		for (const r of habits.ratios) learnRatio(belief, r.a, r.b, r.ratio, r.u * r.u);
		list.push({
			cost,
			belief,
			mass_kg: Float64Array.from(scene.flows, (f) =>
				scene.after_s === null ? 0 : massAt(f, scene.after_s + table.offset_s),
			),
			time_s: Float64Array.from(scene.flows, (f) => f.start_s - 3600),
			nextRun: new Int32Array(C),
			last_s: Number.NEGATIVE_INFINITY,
			told: 0,
			choice: null,
			parent: null,
			rivals: [],
			endings: [],
		});
	}
	return list;
}

/** The cheapest offers carried out, one for each state that the future can tell apart. */
function pick(scene: Scene, offers: Offer[], width: number): Reading[] {
	const list: Reading[] = [];
	const seen = new Map<string, Reading>();
	const best = offers[0]?.cost ?? 0;
	for (const o of offers) {
		if (list.length >= width || o.cost > best + HOPELESS) break;
		const reading = carryOut(scene, o);
		if (width > 8) {
			const key = stateKey(reading);
			const same = seen.get(key);
			if (same) {
				if (same.rivals.length < 3) same.rivals.push(reading);
				continue;
			}
			seen.set(key, reading);
		}
		list.push(reading);
	}
	return list;
}

function stateKey(r: Reading): string {
	const C = r.mass_kg.length;
	const { x, P } = r.belief;
	let key = `${r.told}`;
	for (let c = 0; c < C; c++) {
		const l = C + c;
		const u = Math.sqrt(P[l * 2 * C + l] as number);
		key += `|${r.nextRun[c]},${Math.round((r.mass_kg[c] as number) / 40)},${Math.round((x[l] as number) / 50)},${Math.round(2 * Math.log(u))},${Math.round((x[c] as number) * 300)}`;
	}
	return key;
}

/** All that dump i may be after this reading. */
function offer(scene: Scene, table: Table, effort: Effort, i: number, reading: Reading, offers: Offers): void {
	const step = scene.steps[i] as Step;
	const base = reading.cost;
	const push = (cost: number, choice: Choice): void => {
		if (!(base + cost < offers.best + HOPELESS)) return;
		if (base + cost < offers.best) offers.best = base + cost;
		offers.list.push({ cost: base + cost, parent: reading, choice });
	};
	const odd = step.pinned !== null ? COSTS.overruled : 0;
	const strange = COSTS.stranger + Math.log(COSTS.strangerSpread_kg) + (step.sure ? 20 : odd);
	push(strange, plainChoice(i, 'stranger'));
	offerRepeat(scene, step, i, reading, odd, push);
	if (step.mixed.length === 0) {
		const which = Math.log(step.combines.length);
		for (const c of step.combines) offerNormal(scene, table, effort, i, c, which, reading, push);
		if (step.mayBeOther && effort.whole) {
			const wrong = COSTS.mislabelled + Math.log(Math.max(1, scene.flows.length - 1));
			scene.flows.forEach((_, c) => {
				if (!step.combines.includes(c)) offerNormal(scene, table, effort, i, c, wrong, reading, push);
			});
		}
	}
	offerMixed(scene, table, effort, i, reading, push);
}
