import { describe, expect, test } from 'vitest';
import { seeded } from '../../lib/stats/index.ts';
import { backward, causes, Tape } from '../../lib/tank/index.ts';
import { Dense } from './dense.ts';

/** A tape that does all on another one too, with that one's quantity 3 added to a marked one at that moment. */
class Twin extends Tape {
	twin: Tape | null = null;
	override set(...of: Parameters<Tape['set']>) {
		super.set(...of);
		this.twin?.set(...of);
	}
	override mix(...of: Parameters<Tape['mix']>) {
		super.mix(...of);
		this.twin?.mix(...of);
	}
	override grow(...of: Parameters<Tape['grow']>) {
		super.grow(...of);
		this.twin?.grow(...of);
	}
	override observe(...of: Parameters<Tape['observe']>) {
		this.twin?.observe(...of);
		return super.observe(...of);
	}
	override mark(...of: Parameters<Tape['mark']>) {
		super.mark(...of);
		this.twin?.mix(of[0], 1, [3], [1]);
	}
}

/** A small random problem done twice: with the filter, and densely. */
function problem(seed: number, twin: Tape | null = null) {
	const random = seeded(seed);
	const n = 3;
	const tape = new Twin(n);
	tape.twin = twin;
	const dense = new Dense();
	const name = (slot: number) => `q${slot}`;
	const set = (slot: number) => {
		const mean = random.normal();
		const variance = 0.2 + random.uniform();
		tape.set(slot, mean, variance, 'prior');
		dense.put(name(slot), mean, [[dense.noise(variance), 1]]);
	};
	for (let s = 0; s < n; s++) set(s);
	for (let t = 0; t < 12; t++) {
		const slot = t % n;
		const from = [(slot + 1) % n, (slot + 2) % n];
		const by = [random.normal(), random.normal()];
		const keep = t % 4 === 3 ? 0.5 : 1;
		const noise = 0.1 * random.uniform();
		const row = (s: number) => dense.rows.get(name(s))!;
		const mean = keep * row(slot).mean + by[0]! * row(from[0]!).mean + by[1]! * row(from[1]!).mean + 0.3;
		dense.put(name(slot), mean, [
			[row(slot).of, keep],
			[row(from[0]!).of, by[0]!],
			[row(from[1]!).of, by[1]!],
			[dense.noise(noise), 1],
		]);
		tape.mix(slot, keep, from, by, 0.3, noise, 'slow');
		if (t === 7) set(1);
		if (t % 3 === 1) {
			// Two quantities grow by one amount while the third goes on, with noises in common.
			const [by, along, more, own] = [random.normal(), random.normal(), 0.2 * random.uniform(), 0.1 * random.uniform()];
			const [a, b, c] = [row(0), row(1), row(2)];
			const shared = dense.noise(more);
			const amount: [Map<number, number>, number][] = [
				[a.of, by],
				[shared, along],
				[dense.noise(own), 1],
			];
			dense.put(name(1), b.mean + by * a.mean, [[b.of, 1], ...amount]);
			dense.put(name(2), c.mean + by * a.mean, [[c.of, 1], ...amount]);
			dense.put(name(0), 0.9 * a.mean, [
				[a.of, 0.9],
				[shared, 1],
			]);
			const noise = { end: more, mean: along ** 2 * more, both: along * more, own };
			tape.grow({ from: [0], by: [by], into: [1, 2], slot: 0, keep: 0.9, ...noise });
		}
		if (t === 4) {
			tape.mark(2, 99);
			dense.rows.set('marked', row(2));
		}
		const h = [random.normal(), random.normal(), 1];
		const value = 2 * random.normal();
		tape.key = t;
		tape.observe([0, 1, 2], h, value, 0.4, 'weight');
		dense.observe(
			[0, 1, 2].map((s) => [name(s), h[s]!]),
			value,
			0.4,
		);
	}
	return { tape, dense, name, n };
}

describe.each([1, 2, 3, 4])('filter and smoother against dense algebra, seed %i', (seed) => {
	const { tape, dense, name, n } = problem(seed);
	const back = backward(tape, (key) => (key === 5 || key === 7 ? 1 : key >= 8 && key < 10 ? 2 : -1));

	test('means and variances at the end', () => {
		for (let s = 0; s < n; s++) {
			const { mean, variance } = dense.given(dense.rows.get(name(s))!);
			expect(Math.abs(tape.x[s]! - mean)).toBeLessThan(1e-9);
			expect(Math.abs(tape.P[s * n + s]! - variance)).toBeLessThan(1e-9);
		}
	});

	test('likelihood', () => expect(Math.abs(tape.logLikelihood - dense.logLikelihood())).toBeLessThan(1e-8));

	test('a quantity at a moment long gone', () => {
		const { mean, variance } = dense.given(dense.rows.get('marked')!);
		const mark = back.marks[0]!;
		expect(Math.abs(mark.mean - mean)).toBeLessThan(1e-9);
		expect(Math.abs(mark.variance - variance)).toBeLessThan(1e-9);
	});

	test('each observation foretold by all others, before it and after', () => {
		for (const { key, residual, variance } of back.leftOut) {
			const seen = dense.seen[key]!;
			const given = dense.given({ mean: seen.mean, of: seen.of }, [key]);
			expect(Math.abs(residual - (seen.value - given.mean))).toBeLessThan(1e-8);
			expect(Math.abs(variance - given.variance)).toBeLessThan(1e-8);
		}
	});

	test('a block of observations foretold by those outside it', () => {
		expect(back.blocks[0]!.map((b) => b.keys)).toEqual([
			[5, 7],
			[8, 9],
		]);
		for (const block of back.blocks[0]!) {
			block.keys.forEach((key, i) => {
				const seen = dense.seen[key]!;
				const given = dense.given({ mean: seen.mean, of: seen.of }, block.keys);
				expect(Math.abs(block.residuals[i]! - (seen.value - given.mean))).toBeLessThan(1e-8);
			});
		}
	});

	test('the causes of an uncertainty add up to it', () => {
		const f = [1, -2, 0.5];
		let variance = 0;
		for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) variance += f[i]! * f[j]! * tape.P[i * n + j]!;
		const shares = causes(tape, f);
		expect([...shares.values()].reduce((a, b) => a + b, 0)).toBeCloseTo(variance, 10);
		expect(shares.get('weight')!).toBeGreaterThan(0);
	});
});

test('a shock of free size gains as much as one more unknown would', () => {
	for (const seed of [5, 6]) {
		const again = new Tape(4);
		const wide = 1e8;
		again.set(3, 0, wide);
		const { tape } = problem(seed, again);
		const mark = backward(tape).marks[0]!;
		// −2 log L with a flat unknown: less its own width, log(wide · N + 1).
		const N = mark.shock === 0 ? 1 : mark.gain / mark.shock ** 2;
		const gained = 2 * (again.logLikelihood - tape.logLikelihood) + Math.log(wide * N + 1);
		expect(gained).toBeCloseTo(mark.gain, 3);
		expect(again.x[3]!).toBeCloseTo(mark.shock, 3);
	}
});
