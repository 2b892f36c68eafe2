import { execFileSync, spawnSync } from 'node:child_process';
import { describe, expect, test } from 'vitest';
import { seeded, tQuantile, weightedRegression } from '../../lib/stats/index.ts';

// Outside check: the same numbers through R (package r-base-core).
const hasR = spawnSync('Rscript', ['-e', '1']).status === 0;
if (!hasR) console.warn('SKIPPED: Rscript is missing (Debian: r-base-core); not compared with R');

function r(program: string): number[] {
	return execFileSync('Rscript', ['-e', program], { encoding: 'utf8' }).trim().split(/\s+/).map(Number);
}

/** Twenty points about a line, two of them far off. */
const random = seeded(11);
const x = Array.from({ length: 20 }, (_, i) => i + random.uniform());
const y = x.map((v, i) => 3 + 0.7 * v + 0.4 * random.normal() + (i === 4 ? 9 : i === 15 ? -7 : 0));
const w = x.map(() => 0.2 + random.uniform());
const rows = x.map((v) => [1, v]);
const given = `options(digits=17); x<-c(${x}); y<-c(${y}); w<-c(${w});`;

describe.skipIf(!hasR)('against R', () => {
	test('weighted regression: lm', () => {
		const found = weightedRegression(rows, y, w);
		const expected = r(`${given} f<-summary(lm(y~x,weights=w)); cat(coef(f)[,1:2],f$sigma)`);
		[...found.beta, ...found.u, found.s].forEach((v, i) => {
			expect(v).toBeCloseTo(expected[i]!, 10);
		});
	});

	test('t quantiles: qt', () => {
		const df = [0.7, 1, 2.5, 4, 10, 33.3, 1e3];
		const p = [0.6, 0.9, 0.975, 0.9995];
		const expected = r(`options(digits=17); for(d in c(${df})) cat(qt(c(${p}),d),"")`);
		const found = df.flatMap((d) => p.map((q) => tQuantile(q, d)));
		found.forEach((v, i) => {
			expect(Math.abs(v / expected[i]! - 1)).toBeLessThan(1e-10);
		});
	});
});
