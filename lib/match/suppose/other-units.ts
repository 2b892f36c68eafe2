import { TANK } from '../../model/index.ts';
import { quantile, quantileOf } from '../../stats/index.ts';
import { POUND_KG } from '../../units/index.ts';
import type { Explained } from '../explained.ts';
import type { MatchInput } from '../problem/input.ts';
import { weightColumn } from '../problem/prepare.ts';
import { clockUnder } from './clock-under.ts';
import { scaledFlow } from './scaled-flow.ts';
import type { Supposition } from './supposition.ts';
import { inUnit } from './weighed-rows.ts';

/** Prior costs of another unit for all weights, a whole log, and part of a log, nats. */
const WEIGHTS = 5;
const WHOLE = 6.5;
const STRETCH = 7.5;
/** Possible weights of one dump and mean flows, wider than for any machine, kg and kg/s. */
const DUMP_KG: readonly [number, number] = [700, 40_000];
const FLOW_KG_S: readonly [number, number] = [1, 70];

export interface Unit {
	name: string;
	/** Factor from it to the unit of the column as read, kg or kg/s. */
	size: number;
}

/** Units in which weights are given for kilograms. */
export const weightUnits = (bushel: number): Unit[] => [
	{ name: 'lb', size: POUND_KG },
	{ name: 'bushels', size: bushel },
	{ name: 't', size: 1000 },
	{ name: 'US tons', size: 2000 * POUND_KG },
	{ name: 'hundredweight', size: 100 * POUND_KG },
	{ name: 'kg read as lb', size: 1 / POUND_KG },
];

/** The field with weights, a log or part of a log in another unit. */
export function otherUnits(plain: Explained): Supposition[] {
	const { problem, input } = plain;
	const { records, book, plan, reference } = input;
	const list: Supposition[] = [];
	const bushel = plan.crop.bushel_kg;
	const weights = book.dumps.map((d) => d.weight_kg * reference.ratio).filter((kg) => kg > 0);
	if (weights.length === 0) return list;
	const usual = quantile(
		weights.sort((a, b) => a - b),
		0.5,
	);
	const column = weightColumn(plan);
	const units = weightUnits(bushel);
	// Tickets that agree with the cart would have to be in the same wrong unit.
	const price = reference.source === 'tickets' ? 2 * WEIGHTS : WEIGHTS;
	for (const unit of units) {
		if (within(usual * unit.size, DUMP_KG)) list.push(weightsIn(plain, unit, column, price));
	}
	// Weights that no tank holds say nothing of the clock.
	const tank_kg = TANK.heaped * Math.max(...problem.tank_kg);
	if (list.length > 0 && !within(usual, [DUMP_KG[0], Math.min(tank_kg, DUMP_KG[1])])) {
		const offsets = clockUnder(plain, list[0]!.input);
		for (const s of list) s.offsets = offsets;
	}
	records.combines.forEach((name, c) => {
		const own = book.dumps.flatMap((d, i) => (d.combines.length === 1 && d.combines[0] === name ? [i] : []));
		if (own.length === 0 || own.length === book.dumps.length) return;
		for (const unit of units)
			if (within(book.dumps[own[0]!]!.weight_kg * unit.size, DUMP_KG)) list.push(weightsOfOne(plain, unit, c, own));
	});
	const flows: Unit[] = [
		{ name: 'lb/s', size: POUND_KG },
		{ name: 't/h', size: 1 / 3.6 },
		{ name: 'bu/h', size: bushel / 3600 },
		{ name: 'bu/s', size: bushel },
		{ name: 'kg/s read as lb/s', size: 1 / POUND_KG },
		{ name: 'kg/s read as t/h', size: 3.6 },
	];
	const all = records.combines.map((_, c) => c);
	for (const unit of flows) {
		const plausible = all.filter((c) => within(problem.usualFlow_kg_s[c]! * unit.size, FLOW_KG_S));
		for (const c of plausible) if (all.length > 1) list.push(flowIn(plain, unit, [wholeLog(c)], WHOLE));
		if (plausible.length > 0 && plausible.length === all.length) {
			list.push(flowIn(plain, unit, all.map(wholeLog), WHOLE));
		}
	}
	const changes = all.map((c) => jumpOf(input, c));
	for (const unit of flows) {
		// Flow changes by this ratio, so one of the two parts is in the other unit.
		for (const sign of [-1, 1]) {
			const stretches = all.flatMap((c) => {
				const change = changes[c];
				if (!change || Math.abs(change.log_ratio - sign * Math.log(unit.size)) > 0.3) return [];
				const [from_s, to_s] = sign < 0 ? [change.time_s, Infinity] : [-Infinity, change.time_s];
				return [{ combine: c, from_s, to_s }];
			});
			for (const s of stretches) list.push(flowIn(plain, unit, [s], STRETCH));
			if (stretches.length > 1) list.push(flowIn(plain, unit, stretches, STRETCH));
		}
	}
	return list;
}

const within = (x: number, [low, high]: readonly [number, number]): boolean => x >= low && x <= high;

function weightsIn({ input, problem }: Explained, unit: Unit, column: string, price: number): Supposition {
	const { dumps, offloads } = input.book;
	const scaled = inUnit(unit.size);
	const book = { ...input.book, dumps: dumps.map(scaled), offloads: offloads.map(scaled) };
	return {
		input: { ...input, book },
		// Likelihoods are densities per kilogram, so the change of unit multiplies each weight's.
		unit: true,
		price: price - problem.observations.length * Math.log(unit.size),
		caution: `The weights fit the logs only when multiplied by ${ratio(unit.size)}. Possible cause: the weights in column ${column} are in ${unit.name}. Check its unit. The factors are for the weights as written.`,
		undo(match): void {
			match.under = { weight_kg: unit.size, account: input.account, scale: null, seams: input.seams, book };
		},
	};
}

/** The weights of one combine's dumps in another unit: for these as written, its log has the inverse unit. */
function weightsOfOne({ input }: Explained, unit: Unit, combine: number, own: readonly number[]): Supposition {
	const { book, records, plan } = input;
	const { size } = unit;
	const inverse = scaledFlow(input, scaleOf(input, [wholeLog(combine)], 1 / size));
	const dumps = book.dumps.map((d, i) => (own.includes(i) ? inUnit(size)(d) : d));
	return {
		input: { ...input, book: { ...book, dumps } },
		unit: true,
		price: WEIGHTS + Math.log(records.combines.length) - own.length * Math.log(size),
		caution: `The weights of combine ${records.combines[combine]} fit the logs only when multiplied by ${ratio(size)}. Possible cause: they are in ${unit.name} in column ${weightColumn(plan)}. Check their unit. The factors are for the weights as written.`,
		undo(match, given): void {
			for (const u of match.unloadings) {
				if (u.combine !== combine) continue;
				u.account_kg /= size;
				u.rest_kg /= size;
				u.u_rest_kg /= size;
			}
			for (const w of match.weighings) {
				if (!w.dumps.some((d) => own.includes(d))) continue;
				for (const key of ['weight_kg', 'reference_kg', 'u_reading_kg'] as const) w[key] /= size;
			}
			inverse.undo(match, given);
			// What stands on the ground is as the log has it.
			match.under!.seams = input.seams;
		},
	};
}

/** One combine's log, or the part of it between two times. */
interface Part {
	combine: number;
	from_s: number;
	to_s: number;
}

const wholeLog = (combine: number): Part => ({ combine, from_s: -Infinity, to_s: Infinity });

/** This size for the records of these parts, 1 for all others. */
function scaleOf({ records }: MatchInput, parts: readonly Part[], size: number): Float64Array {
	const of = records.combines.map((_, c) => parts.find((p) => p.combine === c));
	return records.time_s.map((t, i) => {
		const part = of[records.combine[i]!];
		return part && (isWhole(part) || (t > part.from_s && t <= part.to_s)) ? size : 1;
	});
}

const isWhole = ({ from_s, to_s }: Part): boolean => !Number.isFinite(from_s) && !Number.isFinite(to_s);

/** The flow of parts of the logs, or of whole logs, in another unit. */
function flowIn({ input }: Explained, unit: Unit, parts: readonly Part[], price: number): Supposition {
	const { records, plan } = input;
	const first = parts[0]!;
	const columns = plan.logs[records.log[records.combine.indexOf(first.combine)]!]?.columns;
	const column = columns?.flow?.column ?? columns?.yield?.column ?? 'flow_kg_s';
	const whose = parts.map((p) => records.combines[p.combine]).join(' and ');
	const when = isWhole(first)
		? ''
		: (Number.isFinite(first.from_s) ? ' from ' : ' until ') + time(first, plan.timeZone);
	return {
		...scaledFlow(input, scaleOf(input, parts, unit.size)),
		price: price + (parts.length === 1 ? Math.log(records.combines.length) : 0),
		caution: `The weights fit ${whose}'s flow${when} only when it is multiplied by ${ratio(unit.size)}. Possible cause: column ${column} is in ${unit.name} there. Check its unit. The factor compensates for it.`,
	};
}

export const ratio = (x: number): string => (x >= 100 ? x.toFixed(0) : x.toPrecision(3));

function time(stretch: { from_s: number; to_s: number }, timeZone: string | null): string {
	const t = Number.isFinite(stretch.from_s) ? stretch.from_s : stretch.to_s;
	const format = new Intl.DateTimeFormat('en-US', {
		timeZone: timeZone ?? 'UTC',
		hour: 'numeric',
		minute: '2-digit',
		timeZoneName: 'short',
	});
	return format.format(new Date(t * 1000));
}

/** Fewest records on either side of a change of the flow's level; and about as many in all show it. */
const SIDE = 200;
const ENOUGH = 10_000;
/** Least log ratio of such a change: crops differ by less between the halves of a day. */
const LEAST_JUMP = 0.4;

/**
 * Finds the largest lasting change of log mass per area, at the extreme of its cumulative sum about the mean (Page's CUSUM);
 * null where it is too small.
 */
export function jumpOf({ records, account }: MatchInput, c: number): { time_s: number; log_ratio: number } | null {
	const at: number[] = [];
	const value: number[] = [];
	const stride = Math.max(1, Math.floor(records.n / ENOUGH));
	for (let i = 0, seen = 0; i < records.n; i++) {
		if (records.combine[i] !== c || records.headerDown[i] === 0 || seen++ % stride !== 0) continue;
		const swath_m = records.swath_m[i]!;
		const area = records.distance_m[i]! * (swath_m > 0 ? swath_m : 1);
		const y = Math.log(account.account_kg[i]! / area);
		if (!Number.isFinite(y)) continue;
		at.push(i);
		value.push(y);
	}
	if (at.length < 2 * SIDE) return null;
	const mean = value.reduce((a, b) => a + b, 0) / value.length;
	let sum = 0;
	let best = { k: -1, size: 0 };
	value.forEach((y, k) => {
		sum += y - mean;
		if (k >= SIDE && k < value.length - SIDE && Math.abs(sum) > best.size) best = { k, size: Math.abs(sum) };
	});
	if (best.k < 0) return null;
	const log_ratio = quantileOf(value.slice(best.k + 1), 0.5) - quantileOf(value.slice(0, best.k + 1), 0.5);
	if (Math.abs(log_ratio) < LEAST_JUMP) return null;
	return { time_s: records.time_s[at[best.k]!]!, log_ratio };
}
