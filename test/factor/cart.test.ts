import { expect, test } from 'vitest';
import { solveFactors } from '../../lib/factor/index.ts';
import { type SeamJump, silent } from '../../lib/model/index.ts';
import { make } from './make.ts';

/** Two monitors that stay as they are, and a cart that weighs less from some moment on. */
function losing(seed: number, rel: number) {
	const made = make({ seed, fills: 14, factor: (c) => (c ? 1.04 : 0.96) });
	const start = made.records.time_s[0]!;
	made.match.weighings.forEach((w) => {
		if (made.match.unloadings[w.unloadings[0]!]!.end_s - start < 3400) return;
		w.weight_kg *= 1 - rel;
		w.reference_kg *= 1 - rel;
	});
	return { made, start };
}

test.each([41, 42, 43])(
	'a cart that loses 8 per cent at mid-day is named, not two recalibrations (seed %i)',
	(seed) => {
		const { made } = losing(seed, 0.08);
		const found = solveFactors({ ...made, seams: [], jumps: [] }, silent);
		expect(found.factors.map((f) => f.form)).toEqual(['constant', 'constant']);
		expect(found.cautions!.join(' ')).toMatch(
			/combines A and B changed together.*cart's scale changed, not the monitors/s,
		);
		// Nothing tells which side is right: both are inside.
		found.factors.forEach((f, c) => {
			expect(f.interval[0]).toBeLessThan(0.925 * made.truth[c]! + 0.005);
			// 95 % of two explanations: the truth lies at the end of one of them.
			expect(f.interval[1]).toBeGreaterThan(0.998 * made.truth[c]!);
		});
	},
);

test('with truck loads before it the right side is known', () => {
	const { made, start } = losing(44, 0.08);
	made.reference.loads = [1, 2, 3].map((i) => ({
		truckLoad: String(i),
		cart_kg: 20_000,
		ticket_kg: 20_000,
		used: true,
		reason: null,
		time_s: start + 800 * (i - 1),
		scale: null,
		rel: 0,
		side_kg: 20_000,
	}));
	const found = solveFactors({ ...made, seams: [], jumps: [] }, silent);
	found.factors.forEach((f, c) => {
		expect(Math.abs(f.value / made.truth[c]! - 1)).toBeLessThan(0.01);
		expect(f.interval[0] < made.truth[c]! && made.truth[c]! < f.interval[1]).toBe(true);
	});
});

test('one monitor that steps is no fault of the cart', () => {
	const made = make({ seed: 45, fills: 14, factor: (c, h) => (c === 0 && h > 0.9 ? 0.92 : 1) });
	const found = solveFactors({ ...made, seams: [], jumps: [] }, silent);
	expect(found.factors.map((f) => f.form)).toEqual(['step', 'constant']);
	expect(found.cautions!.join(' ')).not.toMatch(/cart's scale changed/);
});

test.each([51, 52, 53])('two carts by turns that no row names: both may be right, and it is said (seed %i)', (seed) => {
	const made = make({ seed, fills: 14, factor: (c) => (c ? 1.04 : 0.96) });
	made.match.weighings.forEach((w, i) => {
		if (i % 3 === 0) return;
		w.weight_kg *= 0.93;
		w.reference_kg *= 0.93;
	});
	const found = solveFactors({ ...made, seams: [], jumps: [] }, silent);
	expect(found.cautions!.join(' ')).toMatch(/weigh [678]\.\d% (less|more) than the others.*two carts had taken turns/);
	found.factors.forEach((f, c) => {
		expect(f.interval[0]).toBeLessThan(0.935 * made.truth[c]! + 0.005);
		expect(f.interval[1]).toBeGreaterThan(0.995 * made.truth[c]!);
	});
});

test.each([57, 58])(
	'weights that scatter more than those of one cart, too little to be divided: the causes are named (seed %i)',
	(seed) => {
		const scattered = (by: number) => {
			const made = make({ seed, fills: 14, factor: (c) => (c ? 1.04 : 0.96) });
			made.match.weighings.forEach((w, i) => {
				if (Math.sin(997 * i) > 0) w.reference_kg *= by;
			});
			return solveFactors({ ...made, seams: [], jumps: [] }, silent).cautions!.join(' ');
		};
		expect(scattered(0.965)).toMatch(/scatter by [123]\.\d%.*two carts whose scales differ|two carts had taken turns/);
		expect(scattered(1)).not.toMatch(/scatter|two carts/);
	},
);

test('weights that scatter as if tanks were badly emptied are named, though monitor and cart scatter no more than usual', () => {
	const scattered = (by: number) => {
		const made = make({ seed: 57, fills: 14, factor: (c) => (c ? 1.04 : 0.96) });
		made.match.weighings.forEach((w, i) => {
			if ((i >> 1) % 2) w.reference_kg *= by;
		});
		return solveFactors({ ...made, seams: [], jumps: [] }, silent).cautions!.join(' ');
	};
	expect(scattered(0.98)).toMatch(/weights scatter about the monitors.*two carts whose scales differ/);
	expect(scattered(0.99)).not.toMatch(/scatter|two carts/);
});

test.each([54, 55, 56])('weights of one cart are not divided among two (seed %i)', (seed) => {
	const made = make({ seed, fills: 14, factor: (c) => (c ? 1.04 : 0.96) });
	const found = solveFactors({ ...made, seams: [], jumps: [] }, silent);
	expect(found.cautions!.join(' ')).not.toMatch(/two carts/);
});

/** Truck loads that check the cart, spread over the day: its error at a time of day (0 … 1) is what they show. */
function checked(made: ReturnType<typeof make>, error: (share: number) => number) {
	const start = made.records.time_s[0]!;
	const end = Math.max(...made.match.unloadings.map((u) => u.end_s));
	made.reference.loads = [0.1, 0.3, 0.5, 0.7, 0.9].map((share, i) => ({
		truckLoad: String(i),
		cart_kg: 20_000,
		ticket_kg: 20_000 / (1 + error(share)),
		used: true,
		reason: null,
		time_s: start + share * (end - start),
		scale: null,
		rel: 1 / (1 + error(share)) - 1,
		side_kg: 20_000,
	}));
	made.match.weighings.forEach((w) => {
		const share = (made.match.unloadings[w.unloadings[0]!]!.end_s - start) / (end - start);
		w.weight_kg *= 1 + error(share);
		w.reference_kg *= 1 + error(share);
	});
}

test.each([46, 47])(
	'a cart that drifts by 5 per cent is told from monitors that drift, by truckloads (seed %i)',
	(seed) => {
		const made = make({ seed, fills: 14, factor: (c) => (c ? 1.04 : 0.96) });
		checked(made, (share) => -0.05 * (share - 0.5));
		made.reference.u_rel = 0.008;
		const found = solveFactors({ ...made, seams: [], jumps: [] }, silent);
		expect(found.factors.map((f) => f.form)).toEqual(['constant', 'constant']);
		expect(found.cautions!.join(' ')).toMatch(
			/changed together by -[45]\.\d% over the field: the cart's scale drifted/,
		);
		found.factors.forEach((f, c) => {
			expect(Math.abs(f.value / made.truth[c]! - 1)).toBeLessThan(0.01);
			expect(f.interval[1] - f.interval[0]).toBeLessThan(0.03);
		});
	},
);

test('monitors that drift under a cart that truckloads find right are named as such', () => {
	const made = make({ seed: 48, fills: 14, factor: (c, h) => (c ? 1.04 : 0.96) * (1 + 0.05 * (h - 1)) });
	checked(made, () => 0);
	const found = solveFactors({ ...made, seams: [], jumps: [] }, silent);
	expect(found.factors.map((f) => f.form)).toEqual(['trend', 'trend']);
	expect(found.cautions!.join(' ')).not.toMatch(/cart's scale drifted/);
});

test('a second scale has an error of its own: unchecked, it stands within its limits', () => {
	const made = make({ seed: 49, fills: 10 });
	const of = (w: { unloadings: number[] }) => made.match.unloadings[w.unloadings[0]!]!.combine;
	made.book.dumps = made.match.weighings.map((w) => ({ scale: of(w) === 1 ? 'second' : 'first', emptied: 1 })) as never;
	checked(made, () => 0);
	for (const load of made.reference.loads) load.scale = 'first';
	for (const w of made.match.weighings) if (of(w) === 1) w.reference_kg *= 0.97;
	const { factors, cautions } = solveFactors({ ...made, seams: [], jumps: [] }, silent);
	const half = (c: number) => (factors[c]!.interval[1] - factors[c]!.interval[0]) / 2;
	expect(Math.abs(factors[0]!.value / made.truth[0]! - 1)).toBeLessThan(0.006);
	expect(half(0)).toBeLessThan(0.01);
	expect(half(1)).toBeGreaterThan(0.04);
	expect(factors[1]!.interval[1]).toBeGreaterThan(made.truth[1]!);
	expect(cautions!.join(' ')).toMatch(/No ticket checks scale second, which weighed dumps of B/);
	// Seams with a combine whose scale was checked tell more than the limits do.
	const log_jump = Math.log(made.truth[1]! / made.truth[0]!);
	const seam = { combineA: 0, combineB: 1, log_jump, u_log: 0.004, df: 12, blocks: [] } as unknown as SeamJump;
	const [, b] = solveFactors({ ...made, seams: [], jumps: [seam] }, silent).factors;
	expect(Math.abs(b!.value / made.truth[1]! - 1)).toBeLessThan(0.01);
	expect((b!.interval[1] - b!.interval[0]) / 2).toBeLessThan(0.02);
});
