/**
 * The least-squares problem of the wander: thousands of knots in chains, linked by seams. Solved by conjugate gradients,
 * preconditioned by the chains alone, east and north apart (Saad, Iterative Methods for Sparse Linear Systems, 2003, section 9.2).
 */
import type { Wander } from './wander.ts';

/** Columns of length `m`: knots of both passes (twice their number), direction, overlap and weight of each link. */
export interface Links {
	m: number;
	a: Int32Array;
	b: Int32Array;
	nx: Float64Array;
	ny: Float64Array;
	overlap: Float64Array;
	weight: Float64Array;
}

/** Links with weights, and how strongly knots are held to zero and to the next knot. */
interface Problem {
	links: Links;
	weight: Float64Array;
	usual: number;
	wander: Wander;
	stay: number;
	step: number;
}

/** Residual at which the iteration ends, relative to the right side. */
const END = 1e-3;
const MOST_ITERATIONS = 200;

/** Starts from x, with east and north of each knot in turn, and leaves the solution there. */
export function leastSquares(x: Float64Array, problem: Problem): void {
	const n = x.length;
	const { links, weight, usual } = problem;
	const r = new Float64Array(n);
	for (let k = 0; k < links.m; k++) addLink(r, links, k, weight[k]! * (links.overlap[k]! - usual));
	const end = END ** 2 * dot(r, r) + 1e-9;
	const ax = new Float64Array(n);
	multiply(problem, x, ax);
	for (let q = 0; q < n; q++) r[q]! -= ax[q]!;
	const solveChains = chains(problem, n);
	const z = new Float64Array(n);
	solveChains(r, z);
	const p = z.slice();
	let rz = dot(r, z);
	for (let k = 0; k < MOST_ITERATIONS && dot(r, r) > end; k++) {
		multiply(problem, p, ax);
		const alpha = rz / dot(p, ax);
		for (let q = 0; q < n; q++) {
			x[q]! += alpha * p[q]!;
			r[q]! -= alpha * ax[q]!;
		}
		solveChains(r, z);
		const before = rz;
		rz = dot(r, z);
		for (let q = 0; q < n; q++) p[q] = z[q]! + (rz / before) * p[q]!;
	}
}

function dot(a: Float64Array, b: Float64Array): number {
	let sum = 0;
	for (let q = 0; q < a.length; q++) sum += a[q]! * b[q]!;
	return sum;
}

/** Adds a value along a link's direction at its one knot, and takes it away at the other. */
function addLink(out: Float64Array, { a, b, nx, ny }: Links, k: number, value: number): void {
	out[a[k]!]! += nx[k]! * value;
	out[a[k]! + 1]! += ny[k]! * value;
	out[b[k]!]! -= nx[k]! * value;
	out[b[k]! + 1]! -= ny[k]! * value;
}

/** The normal matrix times v. */
function multiply({ links, weight, wander, stay, step }: Problem, v: Float64Array, out: Float64Array): void {
	for (let q = 0; q < v.length; q++) out[q] = stay * v[q]!;
	for (const [from, to] of spans(wander)) {
		for (let q = from; q + 2 < to; q++) {
			const pull = step * (v[q + 2]! - v[q]!);
			out[q + 2]! += pull;
			out[q]! -= pull;
		}
	}
	const { m, a, b, nx, ny } = links;
	for (let k = 0; k < m; k++) {
		const [p, q] = [a[k]!, b[k]!];
		addLink(out, links, k, weight[k]! * (nx[k]! * (v[p]! - v[q]!) + ny[k]! * (v[p + 1]! - v[q + 1]!)));
	}
}

/** Every combine's part of the unknowns. */
const spans = ({ first, knots }: Wander) => first.map((k, c) => [2 * k, 2 * (k + knots[c]!)] as const);

/** The solver of the matrix without what couples knots of different chains: tridiagonal, two unknowns apart. */
function chains({ links, weight, wander, stay, step }: Problem, n: number) {
	const pivot = new Float64Array(n).fill(stay);
	const { m, a, b, nx, ny } = links;
	for (let k = 0; k < m; k++) {
		for (const q of [a[k]!, b[k]!]) {
			pivot[q]! += weight[k]! * nx[k]! ** 2;
			pivot[q + 1]! += weight[k]! * ny[k]! ** 2;
		}
	}
	const all = spans(wander);
	for (const [from, to] of all) {
		for (let q = from; q < to; q++) {
			pivot[q]! += step * (Number(q - 2 >= from) + Number(q + 2 < to));
			if (q - 2 >= from) pivot[q]! -= step ** 2 / pivot[q - 2]!;
		}
	}
	return (r: Float64Array, z: Float64Array): void => {
		for (const [from, to] of all) {
			for (let q = from; q < to; q++) z[q] = r[q]! + (q - 2 >= from ? (step / pivot[q - 2]!) * z[q - 2]! : 0);
			for (let q = to - 1; q >= from; q--) z[q] = (z[q]! + (q + 2 < to ? step * z[q + 2]! : 0)) / pivot[q]!;
		}
	};
}
