import type {
	Clock,
	Dump,
	DumpFate,
	FieldPlan,
	LoadBook,
	Match,
	Records,
	Reference,
	Unloading,
	Weighing,
} from '../model/index.ts';
import { stepsByCart } from '../model/index.ts';
import { COSTS, USUAL } from './costs.ts';
import { joinedReason, nonsenseReason, repeatReason, strangerReason } from './explain.ts';
import type { Choice, Reading } from './reading.ts';
import { choicesOf } from './reading.ts';
import type { Scene } from './scene.ts';
import { type Smoothed, weights } from './smooth.ts';
import { type Excluded, grossBefore, grossVariance } from './steps.ts';
import type { Emptying } from './unloadings.ts';

/** What the solver came to, as the rest of the pipeline wants it. */
export function assemble(input: {
	scene: Scene;
	records: Records;
	book: LoadBook;
	plan: FieldPlan;
	reference: Reference;
	reading: Reading;
	list: Emptying[];
	smooth: Smoothed;
	starts: boolean[];
	excluded: Excluded[];
	doubtful: Set<number>;
	clock: Clock;
	clockFit: { offset_s: number; cost: number }[];
	notes: string[];
	cautions: string[];
}): Match {
	const { scene, records, list, smooth, starts } = input;
	const names = fillNames(list, records);
	const unloadings: Unloading[] = list.map((e, i) => ({
		combine: e.combine,
		fill: names[i] as string,
		start_s: e.start_s,
		end_s: e.end_s,
		u_s: e.u_s,
		from: e.from,
		to: e.to,
		account_kg: e.fill_kg,
		u_account_kg: e.u_flow_kg / (scene.habits.factor[e.combine] as number),
		rest_kg: smooth.rest_kg[i] as number,
		u_rest_kg: smooth.u_rest_kg[i] as number,
		restPrior_kg: e.prior_kg,
		u_restPrior_kg: e.u_prior_kg,
		dump: e.choice ? scene.steps[e.choice.step]!.dump : -1,
		ticket: e.told >= 0 ? scene.told[e.told]!.ticket : -1,
		unweighed: e.choice ? null : e.unweighed,
		deduced_kg: e.told >= 0 ? scene.told[e.told]!.kg : Number.NaN,
	}));
	const startPrior_kg = starts.map((some, c) =>
		some
			? { kg: COSTS.startShare * scene.tank_kg[c]!, u_kg: COSTS.startShare * scene.tank_kg[c]! }
			: { kg: 0, u_kg: USUAL.clinging_kg },
	);
	return {
		clock: input.clock,
		unloadings,
		fates: fates(input, unloadings),
		weighings: weighings(input),
		start_kg: smooth.start_kg,
		startPrior_kg,
		factors: smooth.factor.map((k, c) => (speaks(input, c) ? k : Number.NaN)),
		independent: independent(scene, list),
		clockFit: input.clockFit,
		notes: input.notes,
		cautions: input.cautions,
	};
}

function speaks(input: { scene: Scene; smooth: Smoothed }, c: number): boolean {
	return (input.smooth.u_factor[c] as number) < 0.8 * USUAL.factor;
}

/**
 * A fill runs from empty to empty: emptyings between which a rest stays share one. Its name is its combine's with its
 * number, "A3"; where another combine's name could be read in it (A and A1: "A11") a dash keeps them apart, "A-11".
 */
function fillNames(list: readonly Emptying[], records: Records): string[] {
	const { combines } = records;
	const mixable = combines.map((name) =>
		combines.some((other) => other !== name && (isNumbered(name, other) || isNumbered(other, name))),
	);
	const names: string[] = [];
	let n = 0;
	list.forEach((e, i) => {
		const before = list[i - 1];
		if (!before || before.combine !== e.combine) n = 1;
		else if (!before.rests) n++;
		names.push(`${combines[e.combine]}${mixable[e.combine] ? '-' : ''}${n}`);
	});
	return names;
}

/** Is one name the other with digits behind it? */
const isNumbered = (name: string, stem: string): boolean =>
	name.startsWith(stem) && /^\d+$/.test(name.slice(stem.length));

function fates(input: Parameters<typeof assemble>[0], unloadings: readonly Unloading[]): DumpFate[] {
	const { scene, records, book, list, reading, excluded, doubtful, clock } = input;
	const offset = Number.isFinite(clock.offset_s) ? clock.offset_s : 0;
	const blank = (dump: number): DumpFate => ({
		dump,
		combines: [],
		combineSource: (book.dumps[dump] as Dump).combines.length > 0 ? 'noted' : 'inferred',
		status: 'aside',
		reason: null,
		fill: null,
		unloadings: [],
		start_s: Number.NaN,
		end_s: Number.NaN,
		inDoubt: false,
	});
	const all = book.dumps.map((_, d) => blank(d));
	const named = (dump: number): number[] =>
		(book.dumps[dump] as Dump).combines.map((n) => records.combines.indexOf(n)).filter((c) => c >= 0);
	for (const { dump, reason } of excluded) Object.assign(all[dump]!, { reason, combines: named(dump) });
	for (const choice of choicesOf(reading)) {
		const step = scene.steps[choice.step]!;
		const fate = all[step.dump]!;
		fate.inDoubt = doubtful.has(step.dump);
		const other = step.noted && choice.combine >= 0 && !step.combines.includes(choice.combine);
		fate.combineSource = step.noted && !other ? 'noted' : 'inferred';
		fate.combines =
			choice.combine < 0 ? named(step.dump) : choice.other < 0 ? [choice.combine] : [choice.combine, choice.other];
		if (choice.kind === 'stranger') {
			fate.reason = strangerReason(scene, records, choice, offset);
			continue;
		}
		if (choice.kind === 'repeat') {
			const first = scene.steps[choice.of]!.dump;
			fate.reason = repeatReason(book.dumps[first] as Dump, book.dumps[step.dump] as Dump);
			continue;
		}
		const own: number[] = [];
		list.forEach((e, i) => {
			if (e.choice === choice) own.push(i);
		});
		setPlace(fate, own, unloadings);
		if (choice.kind === 'nonsense') {
			const i = own[0] as number;
			const held = (unloadings[i]?.account_kg ?? 0) * (scene.habits.factor[choice.combine] as number);
			fate.reason = nonsenseReason(records, choice, held, step.kg);
			continue;
		}
		judge(input, fate, choice, own);
		if (other) {
			const noted = named(step.dump)
				.map((c) => records.combines[c])
				.join('+');
			const found = records.combines[choice.combine];
			const why = `noted for ${noted}, but the logs say ${found}: ${noted}'s tank does not fit it, ${found}'s does`;
			fate.reason = fate.reason === null ? why : `${why}; ${fate.reason}`;
			input.cautions.push(`${book.dumps[step.dump]?.id}: ${why}.`);
		}
	}
	return all;
}

function setPlace(fate: DumpFate, own: readonly number[], unloadings: readonly Unloading[]): void {
	fate.unloadings = [...own];
	if (own.length === 0) return;
	fate.fill = own.map((i) => unloadings[i]!.fill).join('+');
	fate.start_s = Math.min(...own.map((i) => unloadings[i]!.start_s));
	fate.end_s = Math.max(...own.map((i) => unloadings[i]!.end_s));
}

/** Used, or joined with its neighbours, and why. */
function judge(input: Parameters<typeof assemble>[0], fate: DumpFate, choice: Choice, own: readonly number[]): void {
	const { scene, records, list, smooth, starts, plan, book } = input;
	const step = scene.steps[choice.step]!;
	const reasons: string[] = [];
	for (const i of own) {
		const e = list[i]!;
		const before = list[i - 1];
		const first = !before || before.combine !== e.combine;
		const reason = joinedReason(
			records.combines[e.combine] as string,
			first
				? { rests: starts[e.combine] === true, kg: smooth.start_kg[e.combine]!.kg, start: true }
				: { rests: before.rests, kg: smooth.rest_kg[i - 1] as number, start: false },
			{ rests: e.rests, kg: smooth.rest_kg[i] as number, noted: step.emptied === 0 },
		);
		if (reason !== null) reasons.push(reason);
	}
	fate.status = reasons.length > 0 ? 'joined' : 'used';
	fate.reason = reasons.length > 0 ? reasons.join('; ') : null;
	const pin = plan.pins.dumps?.[(book.dumps[step.dump] as Dump).id];
	if (pin?.status !== undefined && pin.status !== 'aside') {
		if (pin.status !== fate.status)
			fate.reason = `${pin.reason ?? 'decided by hand'}${fate.reason ? ` (the logs say: ${fate.reason})` : ''}`;
		fate.status = pin.status;
	}
}

/** Every weight as an equation, with the gross readings which it shares with its neighbours. */
function weighings(input: Parameters<typeof assemble>[0]): Weighing[] {
	const { scene, book, plan, reference, list } = input;
	const readings = grossReadings(book);
	const gross = grossBefore(book);
	const result: Weighing[] = [];
	for (const w of weights(scene, list)) {
		if (w.step < 0) {
			const told = scene.told[w.told]!;
			// What the cart's level tells is a difference of weights that stand in the list already.
			if (told.ticket < 0) continue;
			result.push({
				kind: 'ticket',
				dumps: [],
				ticket: told.ticket,
				weight_kg: told.kg,
				reference_kg: told.kg,
				u_reading_kg: Math.sqrt(told.variance),
				readings: [-1, -1],
				u_gross_kg: [0, 0],
				byCart: false,
				unloadings: w.emptyings,
				used: true,
			});
			continue;
		}
		const step = scene.steps[w.step]!;
		const d = book.dumps[step.dump] as Dump;
		const before = gross[step.dump] as number;
		const own = d.u_kg > 0;
		result.push({
			kind: w.emptyings.length > 1 ? 'mixed' : 'dump',
			dumps: [step.dump],
			ticket: -1,
			weight_kg: d.weight_kg,
			reference_kg: d.weight_kg * reference.ratio,
			u_reading_kg: Math.sqrt(step.u2),
			readings: own ? [-1, -1] : (readings[step.dump] as [number, number]),
			u_gross_kg: own
				? [d.u_kg / Math.SQRT2, d.u_kg / Math.SQRT2]
				: [
						Math.sqrt(grossVariance(before, d.scale, plan)),
						Math.sqrt(grossVariance(before + d.weight_kg, d.scale, plan)),
					],
			byCart: true,
			unloadings: w.emptyings,
			used: w.believed,
		});
	}
	if (plan.total) result.push(totalWeighing(plan.total));
	return result;
}

/** A known total of the whole field: one weight of everything. */
export function totalWeighing(total: { wet_kg: number; u_rel: number }): Weighing {
	return {
		kind: 'total',
		dumps: [],
		ticket: -1,
		weight_kg: total.wet_kg,
		reference_kg: total.wet_kg,
		u_reading_kg: total.u_rel * total.wet_kg,
		readings: [-1, -1],
		u_gross_kg: [0, 0],
		byCart: false,
		unloadings: [],
		used: true,
	};
}

/** Ids of the gross readings before and after each dump; one dump's last is the next one's first. */
function grossReadings(book: LoadBook): [number, number][] {
	const pairs: [number, number][] = book.dumps.map(() => [-1, -1]);
	let id = 0;
	for (const steps of stepsByCart(book)) {
		for (const { dump } of steps) {
			if (dump >= 0) pairs[dump] = [id, id + 1];
			id++;
		}
		id++;
	}
	return pairs;
}

/** Dumps whose tank was empty before and after count as one weight each, others as less. */
function independent(scene: Scene, list: readonly Emptying[]): number[] {
	return scene.flows.map((_, c) => {
		let n = 0;
		list.forEach((e, i) => {
			if (e.combine !== c || !e.choice || e.choice.kind === 'nonsense') return;
			const before = list[i - 1];
			const u0 = before && before.combine === c ? before.u_prior_kg : 0;
			// Against what a fill's own scatter makes of a weight.
			const scatter = (scene.habits.fill * scene.fill_kg) ** 2;
			n +=
				(scatter / (scatter + (u0 * u0 + e.u_prior_kg ** 2 + e.u_flow_kg ** 2) / 2)) *
				(e.choice.kind === 'mixed' ? 0.5 : 1);
		});
		return n;
	});
}
