import { execFileSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { Kriging } from '../../lib/map/surface/krige.ts';

/**
 * Kriging against R's gstat on the meuse data (155 places; package sp, by way of
 * Debian's r-cran-sp and r-cran-gstat). The numbers are worked out by R here and now; the data are not copied.
 */
const SCRIPT = `
suppressPackageStartupMessages({ library(sp); library(gstat) })
data(meuse); data(meuse.grid)
coordinates(meuse) <- ~x+y; coordinates(meuse.grid) <- ~x+y
at <- meuse.grid[seq(1, nrow(meuse.grid), by = 97), ]
model <- vgm(0.59, "Sph", 897, 0.05)
near <- krige(log(zinc) ~ 1, meuse, at, model, nmax = 24, debug.level = 0)
all <- krige(log(zinc) ~ 1, meuse, at, model, debug.level = 0)
row <- function(name, ...) cat(name, format(c(...), digits = 15, scientific = TRUE, trim = TRUE), "\n")
row("x", coordinates(meuse)[, 1]); row("y", coordinates(meuse)[, 2]); row("z", log(meuse$zinc))
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
	it('kriges to the same values and variances, from the nearest 24 and from all', () => {
		// Spherical: nugget 0.05, partial sill 0.59, range 897 m.
		const rest = (r: number) => (r < 1 ? 1 - 1.5 * r + 0.5 * r ** 3 : 0);
		const covariance = (h: number) => (h === 0 ? 0.64 : 0.59 * rest(h / 897));
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
	it('takes the mean of two equal neighbors, and its variance', () => {
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
