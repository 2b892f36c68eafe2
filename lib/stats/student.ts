/**
 * Student's t: its quantile, by the incomplete beta function.
 *
 * Our own code, since the libraries tried either use `new Function` (refused by the viewer's content-security
 * policy) or reach 8 digits only.
 * Source: NIST Digital Library of Mathematical Functions, 8.17 (continued fraction 8.17.22) and 8.17.2;
 * https://dlmf.nist.gov/8.17. The tests compare it with a t table and R's `qt`.
 */

const LANCZOS = [
	0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
	12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];

/** Natural logarithm of Γ(x), x above 0 (Lanczos' approximation, g = 7, 9 terms; relative error near 1e-15). */
export function logGamma(x: number): number {
	if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
	let sum = LANCZOS[0]!;
	for (let i = 1; i < 9; i++) sum += LANCZOS[i]! / (x - 1 + i);
	const t = x + 6.5;
	return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(t) - t + Math.log(sum);
}

/** Regularized incomplete beta function I_x(a, b), 0 ≤ x ≤ 1 (DLMF 8.17.22, modified Lentz). */
export function incompleteBeta(x: number, a: number, b: number): number {
	if (x <= 0) return 0;
	if (x >= 1) return 1;
	// The fraction converges fast below the mean; above it use I_x(a, b) = 1 − I_{1−x}(b, a).
	if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(1 - x, b, a);
	const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)) / a;
	const tiny = 1e-300;
	let c = 1;
	let d = 1 - ((a + b) * x) / (a + 1);
	d = 1 / (Math.abs(d) < tiny ? tiny : d);
	let f = d;
	for (let m = 1; m <= 10_000; m++) {
		const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
		d = 1 + even * d;
		d = 1 / (Math.abs(d) < tiny ? tiny : d);
		c = 1 + even / c;
		if (Math.abs(c) < tiny) c = tiny;
		f *= d * c;
		const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
		d = 1 + odd * d;
		d = 1 / (Math.abs(d) < tiny ? tiny : d);
		c = 1 + odd / c;
		if (Math.abs(c) < tiny) c = tiny;
		const step = d * c;
		f *= step;
		if (Math.abs(step - 1) < 1e-15) break;
	}
	return front * f;
}

/** Above this many degrees of freedom t and the normal agree to 10 digits in the quantiles used here. */
const NORMAL_FROM = 1e10;

/** Normal distribution function, from the incomplete gamma function P(1/2, z²/2) (DLMF 8.11.4 and 8.9.2). */
export function normalCdf(z: number): number {
	const x = (z * z) / 2;
	if (x > 700) return z > 0 ? 1 : 0;
	let tail: number;
	if (x < 2) {
		let term = 2 * Math.sqrt(x / Math.PI) * Math.exp(-x);
		let sum = term;
		for (let n = 1; n < 200 && term > sum * 1e-17; n++) {
			term *= x / (n + 0.5);
			sum += term;
		}
		tail = (1 - sum) / 2;
	} else {
		// Upper incomplete gamma as a continued fraction, evaluated from the far end.
		let f = 0;
		for (let n = 200; n >= 1; n--) f = (n * (n - 0.5)) / (x + 2 * n + 0.5 - f);
		tail = (Math.sqrt(x / Math.PI) * Math.exp(-x)) / (x + 0.5 - f) / 2;
	}
	return z > 0 ? 1 - tail : tail;
}

/** Density of a normal distribution of mean 0 and standard deviation `sd` at x. */
export function normalDensity(x: number, sd: number): number {
	return Math.exp(-0.5 * (x / sd) ** 2) / (sd * Math.sqrt(2 * Math.PI));
}

/** Density of t at `df` degrees of freedom. */
function density(t: number, df: number): number {
	if (df >= NORMAL_FROM) return Math.exp((-t * t) / 2) / Math.sqrt(2 * Math.PI);
	const log = logGamma((df + 1) / 2) - logGamma(df / 2) - 0.5 * Math.log(df * Math.PI);
	return Math.exp(log - ((df + 1) / 2) * Math.log1p((t * t) / df));
}

/**
 * The t that is exceeded with probability 1 − p. `df` may be any positive number; Infinity gives the normal.
 *
 * @example
 * ```js
 * tQuantile(0.975, 4).toFixed(3); // → '2.776'
 * ```
 */
export function tQuantile(p: number, df: number): number {
	if (!(p >= 0 && p <= 1) || !(df > 0)) return Number.NaN;
	if (p === 0.5) return 0;
	if (p === 0 || p === 1) return p === 0 ? -Infinity : Infinity;
	if (p < 0.5) return -tQuantile(1 - p, df);
	// Bracket, halve a few times, then Newton, kept inside the bracket.
	const upper = 1 - p;
	const tail = (t: number) =>
		df >= NORMAL_FROM ? normalCdf(-t) : 0.5 * incompleteBeta(df / (df + t * t), df / 2, 0.5);
	let low = 0;
	let high = 2;
	while (tail(high) > upper && high < 1e300) {
		low = high;
		high *= 2;
	}
	let t = (low + high) / 2;
	for (let i = 0; i < 200; i++) {
		const excess = tail(t) - upper;
		if (excess > 0) low = t;
		else high = t;
		let next = t + excess / density(t, df);
		if (!(next > low && next < high)) next = (low + high) / 2;
		if (Math.abs(next - t) <= 1e-15 * Math.abs(t)) return next;
		t = next;
	}
	return t;
}

/** Largest number of repeats considered. */
const MOST = 500;

/**
 * Number of repeats, in all, that bring an expanded uncertainty within ± E: the smallest n with
 * (t(n − 1) · s)² / n ≤ E² − U², where U is what all repeats share. Infinity where none does.
 *
 * Scatter 2 %, E 2 %, U 0.5 %: n = 7 (t(6) = 2.447).
 *
 * @param s - scatter of one
 * @param from - least number considered
 *
 * @example
 * ```js
 * repeatsNeeded(0.02, 0.02, 0.005); // → 7
 * ```
 */
export function repeatsNeeded(s: number, E: number, U: number, from = 2): number {
	const room = E * E - U * U;
	for (let n = Math.max(2, from); room > 0 && n <= MOST; n++)
		if ((tQuantile(0.975, n - 1) * s) ** 2 / n <= room) return n;
	return Infinity;
}
