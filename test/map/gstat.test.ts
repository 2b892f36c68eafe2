import { execFileSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { Kriging } from '../../lib/map/surface/krige.ts';
import { fitVariogram, semivariance, semivariogram } from '../../lib/map/surface/variogram.ts';

/**
 * The semivariogram, its fit and kriging against R's gstat on the meuse data (155 places; package sp, by way of
 * Debian's r-cran-sp and r-cran-gstat). The numbers are worked out by R here and now; the data are not copied.
 */
const SCRIPT = `
suppressPackageStartupMessages({ library(sp); library(gstat) })
data(meuse); data(meuse.grid)
coordinates(meuse) <- ~x+y; coordinates(meuse.grid) <- ~x+y
v <- variogram(log(zinc) ~ 1, meuse, width = 90, cutoff = 1350)
sph <- fit.variogram(v, vgm(0.6, "Sph", 900, 0.05))
exp <- fit.variogram(v, vgm(0.6, "Exp", 400, 0.05))
at <- meuse.grid[seq(1, nrow(meuse.grid), by = 97), ]
model <- vgm(0.59, "Sph", 897, 0.05)
near <- krige(log(zinc) ~ 1, meuse, at, model, nmax = 24, debug.level = 0)
all <- krige(log(zinc) ~ 1, meuse, at, model, debug.level = 0)
row <- function(name, ...) cat(name, format(c(...), digits = 15, scientific = TRUE, trim = TRUE), "\n")
row("x", coordinates(meuse)[, 1]); row("y", coordinates(meuse)[, 2]); row("z", log(meuse$zinc))
row("np", v$np); row("dist", v$dist); row("gamma", v$gamma)
row("sph", sph$psill, sph$range[2], attr(sph, "SSErr")); row("exp", exp$psill, exp$range[2], attr(exp, "SSErr"))
row("atx", coordinates(at)[, 1]); row("aty", coordinates(at)[, 2])
row("near", near$var1.pred); row("nearvar", near$var1.var); row("all", all$var1.pred); row("allvar", all$var1.var)
`;

function fromR(): Record<string, number[]> | null {
	try {
		const text = execFileSync('Rscript', ['--vanilla', '-e', SCRIPT], {
			encoding: 'utf8',
			stdio: ['ignore', 'pipe', 'pipe'],
		});
		return Object.fromEntries(
			text
				.trim()
				.split('\n')
				.map((line) => {
					const [name, ...values] = line.trim().split(/\s+/);
					return [name!, values.map(Number)];
				}),
		);
	} catch (error) {
		console.warn(
			`SKIPPED: no R with gstat and sp here (${String(error).split('\n')[0]}); install r-cran-gstat and r-cran-sp`,
		);
		return null;
	}
}

const r = fromR();

describe.skipIf(r === null)('against gstat on the meuse data', () => {
	const g = r as Record<string, number[]>;
	const places = () => ({ x_m: g.x!, y_m: g.y!, value: g.z! });

	it('gives the same semivariogram: pairs, mean distances, semivariances', () => {
		const points = semivariogram(places(), 90, 1350);
		expect(points.map((p) => p.pairs)).toEqual(g.np);
		points.forEach((p, k) => {
			expect(p.lag_m).toBeCloseTo(g.dist![k]!, 6);
			expect(p.semivariance).toBeCloseTo(g.gamma![k]!, 9);
		});
	});

	it('fits the same models by the same weights, or better ones', () => {
		const points = semivariogram(places(), 90, 1350);
		const sse = (v: ReturnType<typeof fitVariogram>) =>
			points.reduce((s, p) => s + (p.pairs / p.lag_m ** 2) * (p.semivariance - semivariance(v, p.lag_m)) ** 2, 0);
		const spherical = fitVariogram(points, ['spherical']);
		const [nugget, partial, range] = g.sph as [number, number, number, number];
		expect(spherical.nugget).toBeCloseTo(nugget, 3);
		expect(spherical.sill - spherical.nugget).toBeCloseTo(partial, 3);
		expect(Math.abs(spherical.range_m / range - 1)).toBeLessThan(0.005);
		expect(sse(spherical)).toBeLessThanOrEqual(g.sph![3]! * (1 + 1e-6));
		const exponential = fitVariogram(points, ['exponential']);
		expect(Math.abs(exponential.range_m / g.exp![2]! - 1)).toBeLessThan(0.01);
		expect(sse(exponential)).toBeLessThanOrEqual(g.exp![3]! * (1 + 1e-6));
		expect(fitVariogram(points).model).toBe(sse(spherical) <= sse(exponential) ? 'spherical' : 'exponential');
	});

	it('kriges to the same values and variances, from the nearest 24 and from all', () => {
		const model = { model: 'spherical' as const, nugget: 0.05, sill: 0.64, range_m: 897 };
		const covariance = (h: number) => (h === 0 ? 0.64 : 0.64 - semivariance(model, h));
		for (const [wanted, value, variance] of [
			[24, g.near!, g.nearvar!],
			[155, g.all!, g.allvar!],
		] as const) {
			const work = new Kriging(155);
			g.atx!.forEach((x, k) => {
				const y = g.aty![k]!;
				const far = (i: number) => Math.hypot(g.x![i]! - x, g.y![i]! - y);
				const near = g
					.x!.map((_, i) => i)
					.sort((a, b) => far(a) - far(b))
					.slice(0, wanted);
				near.forEach((i, a) => {
					near.slice(0, a + 1).forEach((j, b) => {
						work.covariance[a * 155 + b] = covariance(Math.hypot(g.x![i]! - g.x![j]!, g.y![i]! - g.y![j]!));
					});
					work.target[a] = covariance(far(i));
				});
				const found = work.solve(near.length, 0.64);
				const mean = near.reduce((s, i, a) => s + work.weights[a]! * g.z![i]!, 0);
				expect(mean).toBeCloseTo(value[k]!, 8);
				expect(found).toBeCloseTo(variance[k]!, 8);
			});
		}
	});
});

describe('kriging by hand', () => {
	it('takes the mean of two equal neighbours, and its variance', () => {
		const work = new Kriging(2);
		// Two data of variance 1 that share nothing with each other and a half with the target.
		work.covariance.set([1, 0, 0, 1]);
		work.target.set([0.5, 0.5]);
		// w = ½ each; variance = 1 − 2·½·(½+½) + ½ = ½.
		expect(work.solve(2, 1)).toBeCloseTo(0.5, 12);
		expect([...work.weights]).toEqual([0.5, 0.5]);
		// Data 1 and −1 about their mean 0: one sum of squares of 2 with one degree of freedom.
		expect(work.misfit(2, [1, -1])).toBeCloseTo(2, 12);
	});

	it('says so where covariances are none', () => {
		const work = new Kriging(2);
		work.covariance.set([1, 0, 2, 1]);
		expect(work.solve(2, 1)).toBeNaN();
	});
});
