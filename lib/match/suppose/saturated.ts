import { extent, greatest, sum } from 'd3-array';
import { type Account, MONITOR, type Saturation, shareAbove, TANK, unsaturated } from '../../model/index.ts';
import { quantile, tQuantile, weightedRegression } from '../../stats/index.ts';
import { flowInBoth } from '../../units/index.ts';
import { assignmentsOf } from '../beam/hypothesis.ts';
import type { Explained } from '../explained.ts';
import type { MatchInput } from '../problem/input.ts';
import { type Flowing, flowing, recordsUntil } from '../problem/mass.ts';
import type { Supposition } from './supposition.ts';

/** Flows from which a sensor may saturate, as quantiles of those recorded. */
const FROM = [0.25, 0.35, 0.45, 0.55, 0.65, 0.75];
/** Fewest tank loads that show it, and the significance level. */
const FEWEST = 5;
const FALSE_ALARM = 0.002;
/** Least difference between two weights in the share of their grain that came above some flow, and in what lacks for it. */
const LEAST = 0.02;

/**
 * The field with one log as its sensor would have recorded without saturating: where tank loads weigh the more over their
 * record the more of their grain came at high flow. Without it the heaviest are taken for wrong weights or for grain left in tanks.
 */
export function saturated(plain: Explained): Supposition[] {
	// Grain that seems to be left in tanks may be what the sensor did not record.
	const ways = [weighedOf(plain, true), weighedOf(plain, false)].map((weighed) => observed(plain, weighed));
	const { records, plan } = plain.input;
	return plain.problem.flows.flatMap((flow, c) => {
		// A factor or its form that is set by hand stands.
		if (plan.pins.factors?.[records.combines[c]!]) return [];
		const telling = ways.filter(({ masses }) => masses.filter((m) => m[c]! > 0).length >= FEWEST);
		if (telling.length === 0) return [];
		const cut = flowsAbove(plain.input, flow);
		const found = greatest(
			telling.flatMap((way) => cut.flatMap((from) => lackingAbove(way, from, c) ?? [])),
			(f) => f.t,
		);
		return found ? [without(plain, found)] : [];
	});
}

/** Weights with what their grain was by each monitor, kg. */
interface Observed {
	weighed: readonly Weighed[];
	masses: number[][];
	/** Combines that have some of it. */
	some: number[];
	precision: number[];
}

function observed({ problem }: Explained, weighed: readonly Weighed[]): Observed {
	const masses = weighed.map((w) => problem.flows.map(({ sum_kg }, c) => massOf(w, c, sum_kg)));
	const some = problem.flows.map((_, c) => c).filter((c) => masses.some((m) => m[c]! > 0));
	const precision = weighed.map(({ kg }) => 1 / ((MONITOR.fill * kg) ** 2 + TANK.clinging_kg ** 2));
	return { weighed, masses, some, precision };
}

/** A flow, and the mass that came above it up to the end of each record, as `Flowing.sum_kg`. */
interface Above extends Pick<Saturation, 'from_kg_s' | 'flows_kg_s'> {
	sum_kg: Float64Array;
}

function flowsAbove(input: MatchInput, { index }: Flowing): Above[] {
	const recorded = Float64Array.from(index, (i) => flowOf(input, i));
	const flows = recorded.filter((q) => q > 0).sort();
	const flows_kg_s: [number, number] = [quantile(flows, 0.02), quantile(flows, 0.98)];
	return FROM.map((share) => {
		const from_kg_s = quantile(flows, share);
		const sum_kg = new Float64Array(index.length + 1);
		for (let k = 0; k < index.length; k++)
			sum_kg[k + 1] = sum_kg[k]! + input.account.account_kg[index[k]!]! * shareAbove(recorded[k]!, from_kg_s);
		return { from_kg_s, flows_kg_s, sum_kg };
	});
}

interface Found extends Saturation {
	/** Student's t of what lacks. */
	t: number;
}

/** What a monitor lacks above a flow, by these weights; null where they show nothing. */
function lackingAbove({ weighed, masses, some, precision }: Observed, from: Above, combine: number): Found | null {
	const { sum_kg, ...flow } = from;
	const above = weighed.map((w) => massOf(w, combine, sum_kg));
	const [least, most] = extent(above.map((kg, i) => kg / masses[i]![combine]!));
	// Grain that came alike in all weights tells nothing.
	if (!(most! - least! > LEAST)) return null;
	const rows = above.map((kg, i) => [...some.map((c) => masses[i]![c]!), kg]);
	const { beta, u, df } = weightedRegression(
		rows,
		weighed.map((w) => w.kg),
		precision,
	);
	const t = beta.at(-1)! / u.at(-1)!;
	const lacking = beta.at(-1)! / beta[some.indexOf(combine)]!;
	if (!(lacking * (most! - least!) > LEAST) || !(t > tQuantile(1 - FALSE_ALARM, df))) return null;
	return { ...flow, combine, lacking, t };
}

function flowOf({ records, account }: MatchInput, i: number): number {
	const interval_s = records.interval_s[i]!;
	return interval_s > 0 ? account.account_kg[i]! / interval_s : 0;
}

/** Weights, several together where grain stayed between them, and the records whose grain they weighed. */
interface Weighed {
	kg: number;
	ranges: { combine: number; first: number; last: number }[];
}

const massOf = ({ ranges }: Weighed, combine: number, sum_kg: ArrayLike<number>): number =>
	sum(ranges, (r) => (r.combine === combine ? sum_kg[r.last]! - sum_kg[r.first]! : 0));

/** @param asFound - tanks are emptied as the explanation has it, or all but those that are noted not to be */
function weighedOf({ problem, solved }: Explained, asFound: boolean): Weighed[] {
	const list: Weighed[] = [];
	const first = problem.flows.map(() => 0);
	const open = problem.flows.map((): Weighed | null => null);
	for (const { observation, parts, inserts } of assignmentsOf(solved.hypothesis)) {
		const { kg, emptied } = problem.observations[observation]!;
		const now: Weighed = { kg, ranges: [] };
		for (const { combine, place } of parts) {
			const last = recordsUntil(problem.flows[combine]!, place.end_s);
			now.ranges.push({ combine, first: first[combine]!, last });
			first[combine] = last;
			now.kg += open[combine]?.kg ?? 0;
			now.ranges.push(...(open[combine]?.ranges ?? []));
			open[combine] = null;
		}
		// Other grain was unloaded between.
		if (inserts.length > 0) now.kg = Number.NaN;
		const rests = parts.find((p) => (asFound ? p.rests : emptied === 0));
		if (rests) open[rests.combine] = now;
		else if (parts.length > 0 && now.kg > 0) list.push(now);
	}
	return list;
}

function without({ input, problem }: Explained, found: Saturation): Supposition {
	const { records, account, book } = input;
	const { combine, from_kg_s, lacking } = found;
	const scale = new Float64Array(records.n).fill(1);
	for (const i of problem.flows[combine]!.index) scale[i] = unsaturated(found, flowOf(input, i));
	const scaled: Account = { ...account, account_kg: account.account_kg.map((kg, i) => kg * scale[i]!) };
	const more = Math.log(flowing(records, scaled, combine).total_kg / problem.flows[combine]!.total_kg);
	const seams = input.seams.map((s) => ({
		...s,
		log_jump: s.log_jump + more * (Number(s.combineA === combine) - Number(s.combineB === combine)),
	}));
	return {
		input: { ...input, account: scaled, seams },
		price: Math.log(FROM.length) - Math.log(MONITOR.saturates),
		caution: `The more of a tank load's grain came at high flow, the more ${records.combines[combine]}'s monitor missed of it: beyond ${flowInBoth(from_kg_s)} it seems to record only ${(100 / (1 + lacking)).toFixed(0)}% of the flow, as a sensor that saturates. The correction rises with flow. Have the sensor checked, and drive slower in heavy crop.`,
		undo(match): void {
			match.under = { weight_kg: 1, account: scaled, scale, seams, book, saturation: found };
		},
	};
}
