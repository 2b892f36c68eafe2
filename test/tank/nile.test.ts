import { describe, expect, test } from 'vitest';
import { backward, Tape } from '../../lib/tank/index.ts';

/** Flow of the Nile at Aswan 1871–1970, 10⁸ m³ (Cobb 1978; R's data set Nile). */
const NILE = [
	1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140, 1100,
	1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969, 831, 726, 456,
	824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759, 781, 865, 845, 944, 984, 897,
	822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923, 975,
	815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
];

/** Local level (slot 0) with a slope (slot 1) that walks too; the first year's level is known by itself alone. */
function local(noise: number, walk: number, slope = 0, slopeWalk = 0): Tape {
	const tape = new Tape(2);
	tape.set(0, 0, 1e7);
	tape.set(1, 0, slope);
	NILE.forEach((flow, i) => {
		if (i > 0) {
			tape.mix(0, 1, [1], [1], 0, walk);
			tape.mix(1, 1, [], [], 0, slopeWalk);
		}
		tape.mark(0, i);
		tape.key = i;
		tape.observe([0], [1], flow, noise);
	});
	return tape;
}

// Durbin and Koopman 2012, chapter 2: variances 15,099 and 1,469.1 by greatest likelihood. The log likelihood there with the
// first flow spent on the level, and the smoothed levels: R 4, the recursion written out and KalmanSmooth.
describe('the Nile, local level', () => {
	const best = local(15099, 1469.1);
	test('log likelihood at the published variances', () => {
		const S = 1e7 + 15099;
		const first = -0.5 * (Math.log(2 * Math.PI * S) + 1120 ** 2 / S);
		expect(best.logLikelihood - first).toBeCloseTo(-632.5456251, 2);
	});
	test('smoothed levels of 1871, 1899 and 1970 and their variances', () => {
		const { marks } = backward(best);
		[1111.2202576, 950.930012, 798.3702926].forEach((v, i) => {
			expect(marks[[0, 28, 99][i]!]!.mean).toBeCloseTo(v, 5);
		});
		[4030.532767, 2326.756917, 4032.157942].forEach((v, i) => {
			expect(marks[[0, 28, 99][i]!]!.variance).toBeCloseTo(v, 4);
		});
	});
	test('no other variances are likelier', () => {
		for (const [a, b] of [
			[1.05, 1],
			[0.95, 1],
			[1, 1.2],
			[1, 0.8],
			[1.02, 0.9],
		])
			expect(local(15099 * a!, 1469.1 * b!).logLikelihood).toBeLessThan(best.logLikelihood);
	});
	test('the filter settles at the variance that its recursion fixes', () => {
		// P = P_next − P_next² / (P_next + noise), P_next = P + walk.
		const next = (1469.1 + Math.sqrt(1469.1 ** 2 + 4 * 1469.1 * 15099)) / 2;
		expect(best.P[0]).toBeCloseTo(next - next ** 2 / (next + 15099), 3);
	});
	test('the dam of 1899: of all years a shock to the level in 1899 gains most', () => {
		const back = backward(best);
		const top = back.marks.reduce((a, b) => (b.gain > a.gain ? b : a));
		expect(1871 + top.key).toBe(1899);
		expect(top.shock).toBeLessThan(-200);
	});
	test('the odd year 1913: of all years its flow is worst foretold by the others', () => {
		const left = backward(best).leftOut;
		const worst = left.reduce((a, b) => (b.residual ** 2 / b.variance > a.residual ** 2 / a.variance ? b : a));
		expect(1871 + worst.key).toBe(1913);
	});
});

test('the Nile with a slope that walks: smoothed levels as R has them (KalmanSmooth, slope variance 5)', () => {
	const { marks } = backward(local(15099, 1469.1, 1e7, 5));
	[1124.3387653, 950.6140999, 786.3447935].forEach((v, i) => {
		expect(marks[[0, 28, 99][i]!]!.mean).toBeCloseTo(v, 4);
	});
	[4609.422094, 2357.882923, 4611.552992].forEach((v, i) => {
		expect(marks[[0, 28, 99][i]!]!.variance).toBeCloseTo(v, 3);
	});
});

test('a local linear trend follows a straight line without error', () => {
	const tape = new Tape(2);
	tape.set(0, 0, 1e8);
	tape.set(1, 0, 1e8);
	for (let i = 0; i < 20; i++) {
		if (i > 0) {
			tape.mix(1, 1, [], [], 0, 0.1);
			tape.mix(0, 1, [1], [1], 0, 0.1);
		}
		tape.observe([0], [1], 5 + 3 * i, 1);
	}
	expect(tape.x[0]).toBeCloseTo(62, 4);
	expect(tape.x[1]).toBeCloseTo(3, 4);
});
