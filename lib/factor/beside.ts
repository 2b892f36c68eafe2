import type { FieldPlan, Match, Records } from '../model/index.ts';
import type { Standing } from './carry.ts';
import type { FlowSlope } from './flow.ts';
import type { Shape } from './shape.ts';
import type { Extra } from './solve.ts';
import type { FactorInput } from './solved.ts';
import type { System } from './system.ts';

/** Monitors are within about 10 % even when poorly calibrated (method.md, section 7). */
const POOR = 0.1;

/**
 * Keeps the system solvable: a combine that nothing tells of stands at its rough value (and is left out afterwards); one
 * that is only weighed together with another is expected within what poor calibration does.
 */
export function anchorsOf(
	system: System,
	shapes: readonly Shape[],
	state: Standing,
	rough: readonly number[],
): Extra[] {
	const out: Extra[] = [];
	shapes.forEach((_, c) => {
		if (state.owned[c]) return;
		const row = new Array<number>(system.p).fill(0);
		row[system.first[c]!] = 1;
		const u = state.any[c]! > 0 ? POOR : state.told[c] ? 10 * POOR : 1;
		out.push({ kind: 'prior', row, y: rough[c]!, variance: u * u, df: Number.POSITIVE_INFINITY });
	});
	return out;
}

/** The seams' word on the slope of a flow curve. */
export function curveEquations(
	system: System,
	shapes: readonly Shape[],
	slopes: readonly FlowSlope[],
	rough: readonly number[],
): Extra[] {
	const out: Extra[] = [];
	shapes.forEach((shape, c) => {
		const s = slopes[c]!;
		if (shape.form !== 'flow' || s.why !== null) return;
		const row = new Array<number>(system.p).fill(0);
		row[system.first[c]! + 1] = 1;
		const k = rough[c]!;
		out.push({ kind: 'curve', row, y: k * s.slope, variance: (k * s.u) ** 2, df: s.df });
	});
	return out;
}

/** A pinned factor outweighs everything. */
export function pinEquations(input: FactorInput, system: System): Extra[] {
	const out: Extra[] = [];
	input.records.combines.forEach((name, c) => {
		const value = input.plan.pins.factors?.[name]?.value;
		if (value === undefined) return;
		const row = new Array<number>(system.p).fill(0);
		system.mean[c]!.forEach((m, j) => {
			row[system.first[c]! + j] = m;
		});
		out.push({ kind: 'prior', row, y: value, variance: 1e-14, df: Number.POSITIVE_INFINITY });
	});
	return out;
}

/**
 * Whose sums must close: each combine's own weights where no weight is shared, else of all that share. A total closes
 * only where nothing else speaks. Pinned factors need not close.
 */
export function closingGroups(system: System, match: Match, plan: FieldPlan, records: Records): number[][] {
	const combines = records.combines.length;
	const root = Array.from({ length: combines }, (_, c) => c);
	const find = (c: number): number => (root[c] === c ? c : find(root[c]!));
	const parts = system.weighings.map((w) =>
		w.kind === 'total' ? root.map((_, c) => c) : [...new Set(w.unloadings.map((u) => match.unloadings[u]!.combine))],
	);
	const onlyTotals = system.weighings.every((w) => w.kind === 'total');
	system.weighings.forEach((w, i) => {
		if (w.kind === 'total' && !onlyTotals) return;
		for (const c of parts[i]!) root[find(c)] = find(parts[i]![0]!);
	});
	const groups = new Map<number, number[]>();
	system.weighings.forEach((w, i) => {
		if (w.kind === 'total' && !onlyTotals) return;
		const g = find(parts[i]![0]!);
		groups.set(g, [...(groups.get(g) ?? []), i]);
	});
	const pinned = new Set<number>();
	records.combines.forEach((name, c) => {
		if (plan.pins.factors?.[name]?.value !== undefined) pinned.add(find(c));
	});
	return [...groups].filter(([g]) => !pinned.has(g)).map(([, list]) => list);
}
