/** A seeded generator of random numbers with named, independent streams: the same seed gives the same field. */
export interface Random {
	/** Uniform on [0, 1). */
	next(): number;
	/** Uniform on [from, to). */
	between(from: number, to: number): number;
	/** Normal with mean 0 and the given standard deviation. */
	normal(sd?: number): number;
	/** Whole number in [0, n). */
	whole(n: number): number;
	chance(p: number): boolean;
	pick<T>(from: readonly T[]): T;
	/** An independent stream under a name; drawing from it leaves this one alone. */
	stream(name: string): Random;
}

/** FNV-1a over the name, mixed with the seed. */
function hash(text: string, seed: number): number {
	let h = (2166136261 ^ seed) >>> 0;
	for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 16777619) >>> 0;
	h ^= h >>> 15;
	h = Math.imul(h, 2246822507) >>> 0;
	return (h ^ (h >>> 13)) >>> 0;
}

/** sfc32 (Chris Doty-Humphrey, PractRand), seeded by hashing. */
export function random(seed: number, name = 'field'): Random {
	let a = hash(`${name}/a`, seed);
	let b = hash(`${name}/b`, seed);
	let c = hash(`${name}/c`, seed);
	let d = 1;
	const next = () => {
		const t = (((a + b) | 0) + d) | 0;
		d = (d + 1) | 0;
		a = b ^ (b >>> 9);
		b = (c + (c << 3)) | 0;
		c = (c << 21) | (c >>> 11);
		c = (c + t) | 0;
		return (t >>> 0) / 4294967296;
	};
	for (let i = 0; i < 15; i++) next();
	let spare = Number.NaN;
	const normal = (sd = 1) => {
		if (!Number.isNaN(spare)) {
			const value = spare;
			spare = Number.NaN;
			return value * sd;
		}
		const r = Math.sqrt(-2 * Math.log(1 - next()));
		const angle = 2 * Math.PI * next();
		spare = r * Math.sin(angle);
		return r * Math.cos(angle) * sd;
	};
	return {
		next,
		between: (from, to) => from + (to - from) * next(),
		normal,
		whole: (n) => Math.floor(next() * n),
		chance: (p) => next() < p,
		pick: (from) => from[Math.floor(next() * from.length)]!,
		stream: (child) => random(seed, `${name}/${child}`),
	};
}

/** A slowly wandering value: first-order (Ornstein–Uhlenbeck) with a standard deviation and a correlation time. */
export function wander(rng: Random, sd: number, time_s: number, step_s: number): () => number {
	const keep = Math.exp(-step_s / time_s);
	const kick = sd * Math.sqrt(1 - keep * keep);
	let value = rng.normal(sd);
	return () => {
		value = value * keep + rng.normal(kick);
		return value;
	};
}
