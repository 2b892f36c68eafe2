import { describe, expect, it } from 'vitest';
import { breaks, classOf } from '../../lib/map/index.ts';

describe('breaks of a legend', () => {
	it('of equal width', () => {
		expect(breaks([0, 1, 2, 10], 'equal', 5)).toEqual([0, 2, 4, 6, 8, 10]);
	});

	it('of equal count: R’s quantile(c(1:8, 100), 0:4/4), type 7', () => {
		expect(breaks([1, 2, 3, 4, 5, 6, 7, 8, 100], 'quantile', 4)).toEqual([1, 3, 5, 7, 100]);
	});

	it('natural, between the clumps', () => {
		const edges = breaks([1, 1.2, 0.9, 5, 5.1, 4.9, 9, 9.2, 8.8], 'natural', 3);
		expect(edges.map((e) => Math.round(e * 100) / 100)).toEqual([0.9, 3.05, 6.95, 9.2]);
	});

	it('natural, of many values as fast as of few', () => {
		const values = Float32Array.from({ length: 200_000 }, (_, k) => (k % 3) * 10 + (k % 7) / 10);
		const edges = breaks(values, 'natural', 3);
		expect(edges[1]).toBeGreaterThan(0.6);
		expect(edges[1]).toBeLessThan(10);
		expect(edges[2]).toBeGreaterThan(10.6);
		expect(edges[2]).toBeLessThan(20);
	});

	it('leave out what is no number, and do not repeat themselves', () => {
		expect(breaks([Number.NaN, 3, 3, Number.POSITIVE_INFINITY], 'quantile', 4)).toEqual([3, 3]);
		expect(breaks([Number.NaN], 'equal', 4)).toEqual([]);
		expect(breaks([1, 1, 1, 1, 2], 'quantile', 4)).toEqual([1, 2]);
		expect(breaks([1, 2], 'natural', 5)).toEqual([1, 1.5, 2]);
	});

	it('put each value into a class', () => {
		const edges = [0, 2, 4];
		expect([-1, 0, 1.9, 2, 4, 9, Number.NaN].map((v) => classOf(v, edges))).toEqual([0, 0, 0, 1, 1, 1, -1]);
	});
});
