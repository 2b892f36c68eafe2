import type { Kind } from './index.ts';
import type { Scores } from './score.ts';

/** What a kind of field has to reach, over its seeds. Per cent unless a unit is named. */
interface Target {
	factorMedian: number;
	factorWorst: number;
	/** Least share of intervals that cover. */
	covered: number;
	/** The form has to be named. */
	form: boolean;
	lag_s: number;
	dumps: number;
	clock_s: number;
	/** A clock that nothing tells is not judged. */
	clock: boolean;
	rmse: number;
	bias: number;
	kept: number;
	area: number;
	place_m: number;
	grid: number;
	within1: [number, number];
	within2: number;
	seam: number;
	seamCovered: number;
	moisture: number;
}

const USUAL: Target = {
	// The certified scale's own error, up to 0.2 %, is in all factors of a field alike.
	factorMedian: 0.35,
	factorWorst: 0.6,
	covered: 85,
	form: false,
	lag_s: 1,
	dumps: 95,
	clock_s: 30,
	clock: true,
	rmse: 4.6,
	bias: 0.8,
	kept: 86,
	area: 1,
	place_m: 2.5,
	grid: 2.6,
	within1: [58, 82],
	within2: 90,
	seam: Infinity,
	seamCovered: 0,
	moisture: Infinity,
};

const NO_AUGER: Partial<Target> = { factorWorst: 1, clock_s: 120 };
const FLOW: Partial<Target> = { form: true, rmse: 5.3, bias: 1.4, grid: 3.2 };

const SPECIAL: Partial<Record<Kind, Partial<Target>>> = {
	'clock-3600': NO_AUGER,
	'clock-7h': NO_AUGER,
	positions: NO_AUGER,
	'load-numbers': NO_AUGER,
	bare: NO_AUGER,
	dirty: { ...NO_AUGER, rmse: 6, kept: 78, grid: 3.2 },
	mixed: { factorMedian: 0.5, factorWorst: 1.5 },
	'tickets-straight': { clock: false, factorWorst: 1 },
	'tickets-cart': { clock: false, factorMedian: 0.5, factorWorst: 1.5 },
	total: { clock: false, factorMedian: 0.5, factorWorst: 1.5 },
	minutes: { clock_s: 60 },
	days: { clock: false },
	untimed: { clock: false },
	trend: { form: true, rmse: 4.8, bias: 1, grid: 3.2 },
	step: { form: true, rmse: 4.8, bias: 1, grid: 3.2 },
	'flow+': FLOW,
	'flow-': FLOW,
	speeds: { form: true },
	'trend-small': { rmse: 4.8, bias: 1 },
	'step-small': { rmse: 4.8, bias: 1, grid: 3.2 },
	seams: { seam: 1.6, seamCovered: 80 },
	'seams-equal': { seam: 1.6, seamCovered: 80 },
	receivers: { seam: 2.2, seamCovered: 80 },
	'receivers-side': { seam: 2.2, seamCovered: 80 },
	silent: { factorMedian: 1, factorWorst: 2 },
	// The map shows what was brought in: it is level with the crop only where nothing was left.
	'grain-left': { rmse: 8, bias: 5, grid: 8, within1: [0, 100], within2: 0 },
	'slow-log': { rmse: 4.5 },
	'hz0.2': { rmse: 5 },
	hz5: { rmse: 6.5 },
	'no-tickets': { factorMedian: 1, factorWorst: 1.2, bias: 1.5 },
	variety: { rmse: 5, grid: 3.5 },
	planter: { rmse: 5, grid: 3 },
	moisture: { moisture: 0.35 },
	stops: { rmse: 5.2 },
};

const known = (values: number[]) => values.filter((v) => !Number.isNaN(v));

/** Everything in which runs of one kind miss their target, in words; empty = all is well. */
export function misses(kind: Kind, all: Scores[]): string[] {
	const target: Target = { ...USUAL, ...SPECIAL[kind] };
	const out: string[] = [];
	const most = (name: string, values: number[], limit: number) => {
		if (values.length > 0 && known(values).length === 0) out.push(`${name}: none`);
		const worst = Math.max(...known(values).map(Math.abs), 0);
		if (worst > limit) out.push(`${name} ${worst.toFixed(2)} > ${limit}`);
	};
	const least = (name: string, share: number, limit: number) => {
		if (share < limit) out.push(`${name} ${share.toFixed(1)} < ${limit}`);
	};
	/** A share over few cases: one may always fail. */
	const share = (name: string, flags: boolean[], limit: number) => {
		const failed = flags.filter((f) => !f).length;
		const allowed = limit === 0 ? flags.length : Math.max(1, Math.floor((1 - limit / 100) * flags.length));
		if (failed > allowed) out.push(`${name} ${flags.length - failed} of ${flags.length}`);
	};
	const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;

	const factors = all.flatMap((s) => s.factors);
	const errors = known(factors.map((f) => Math.abs(f.error_pct))).sort((a, b) => a - b);
	if (errors.length < factors.length) out.push(`factor missing for ${factors.length - errors.length}`);
	if (errors.length > 0) {
		most('factor median', [errors[(errors.length - 1) >> 1]!], target.factorMedian);
		most('factor worst', errors, target.factorWorst);
		share(
			'factor intervals covering',
			factors.map((f) => f.covered),
			target.covered,
		);
	}
	if (target.form)
		share(
			'forms named',
			factors.map((f) => f.formRight),
			80,
		);
	most(
		'lag s',
		all.flatMap((s) => s.lags.map((l) => l.error_s)),
		target.lag_s,
	);
	const n = all.reduce((sum, s) => sum + s.dumps.n, 0);
	if (n > 0) least('dumps right', (100 * all.reduce((sum, s) => sum + s.dumps.right, 0)) / n, target.dumps);
	for (const { unweighed: u } of all) {
		if (u.found < u.expected) out.push(`unweighed missed ${u.expected - u.found}`);
		if (u.invented > 0) out.push(`unweighed invented ${u.invented}`);
	}
	if (target.clock) {
		most(
			'clock s',
			all.map((s) => s.clock.error_s),
			target.clock_s,
		);
		share(
			'clocks covered',
			all.map((s) => s.clock.covered),
			90,
		);
	}
	for (const { trace } of all) {
		if (trace.expected === 0) continue;
		least('trace events', (100 * trace.found) / trace.expected, 95);
		if (trace.invented > 0) out.push(`trace events invented ${trace.invented}`);
		most('trace weight', [trace.weight_pct], 0.5);
	}
	most(
		'records rmse',
		all.map((s) => s.records.rmse_pct),
		target.rmse,
	);
	most(
		'bias',
		all.map((s) => s.records.bias_pct),
		target.bias,
	);
	least('ground kept', Math.min(...all.map((s) => s.records.kept_pct)), target.kept);
	most(
		'area',
		all.map((s) => s.area_pct),
		target.area,
	);
	most(
		'place m',
		all.map((s) => s.place_m),
		target.place_m,
	);
	most(
		'grid',
		all.map((s) => s.grid.rmse_pct),
		target.grid,
	);
	const within1 = mean(all.map((s) => s.grid.within1_pct));
	if (within1 < target.within1[0] || within1 > target.within1[1]) out.push(`cells within 1 se ${within1.toFixed(0)}`);
	least('cells within 2 se', mean(all.map((s) => s.grid.within2_pct)), target.within2);
	const seams = all.flatMap((s) => s.seams);
	most(
		'seam',
		seams.map((s) => s.error_pct),
		target.seam,
	);
	share(
		'seams covered',
		seams.map((s) => s.covered),
		target.seamCovered,
	);
	most(
		'moisture points',
		all.flatMap((s) => s.moistures.map((m) => m.error_pct)),
		target.moisture,
	);
	return out;
}
