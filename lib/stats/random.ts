/** A stream of random numbers that depends on its seed alone. */
export interface Random {
	/** Uniform on [0, 1). */
	uniform(): number;
	/** Standard normal. */
	normal(): number;
	/** Student's t with `df` degrees of freedom; the normal for Infinity. */
	t(df: number): number;
}

/**
 * Seeded generator: sfc32 (Chris Doty-Humphrey, PractRand, http://pracrand.sourceforge.net/), normals by the polar
 * method, t as normal / sqrt(χ²/ν) with χ² by Marsaglia and Tsang's gamma (ACM TOMS 26:363, 2000).
 *
 * The same numbers on every machine:
 *
 * @example
 * ```js
 * seeded(1).uniform() === seeded(1).uniform(); // → true
 * ```
 */
export function seeded(seed: number): Random {
	let a = 0x9e3779b9;
	let b = 0x243f6a88;
	let c = seed | 0;
	let d = 1;
	const next = () => {
		const t = (((a + b) | 0) + d) | 0;
		d = (d + 1) | 0;
		a = b ^ (b >>> 9);
		b = (c + (c << 3)) | 0;
		c = (c << 21) | (c >>> 11);
		c = (c + t) | 0;
		return t >>> 0;
	};
	for (let i = 0; i < 15; i++) next();
	const uniform = () => (next() * 0x200000 + (next() >>> 11)) / 0x20000000000000;
	let spare = Number.NaN;
	const normal = () => {
		if (!Number.isNaN(spare)) {
			const kept = spare;
			spare = Number.NaN;
			return kept;
		}
		for (;;) {
			const x = 2 * uniform() - 1;
			const y = 2 * uniform() - 1;
			const q = x * x + y * y;
			if (q > 0 && q < 1) {
				const factor = Math.sqrt((-2 * Math.log(q)) / q);
				spare = y * factor;
				return x * factor;
			}
		}
	};
	const gamma = (shape: number): number => {
		if (shape < 1) return gamma(shape + 1) * uniform() ** (1 / shape);
		const e = shape - 1 / 3;
		const f = 1 / Math.sqrt(9 * e);
		for (;;) {
			const x = normal();
			const v = (1 + f * x) ** 3;
			if (v > 0 && Math.log(1 - uniform()) < 0.5 * x * x + e - e * v + e * Math.log(v)) return e * v;
		}
	};
	const t = (df: number) => (df > 1e6 ? normal() : normal() / Math.sqrt((2 * gamma(df / 2)) / df));
	return { uniform, normal, t };
}
