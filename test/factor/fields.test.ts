import { describe, expect, test } from 'vitest';
import { few } from '../campaign.ts';
import { trial } from '../sim/run.ts';

// Whole simulated fields, truth kept apart: what issue "factors that change" asks of them.
describe('simulated fields with slow sensor errors', () => {
	// One field of each kind is run by sim/kinds.test.ts, which asks for the same; these are more of them, for campaigns.
	const fields = [
		['trend', 31, ['trend', 'trend'], 4.8, 1],
		['flow-', 34, ['flow', 'flow'], 5.3, 1.4],
		['step', 32, ['step', 'constant'], 4.8, 1],
		['flow+', 33, ['flow', 'flow'], 5.3, 1.4],
		['speeds', 35, ['constant', 'constant'], 5.3, 1.4],
	] as const;
	test.each(few(fields, 0))(
		'%s, seed %i: the form is named and the records corrected',
		async (kind, seed, forms, rmse, bias) => {
			const { scores } = await trial({ kind, seed }, { grid: false });
			expect(scores.factors.map((f) => f.form)).toEqual(forms);
			for (const f of scores.factors) expect(Math.abs(f.error_pct)).toBeLessThan(0.6);
			expect(scores.records.rmse_pct).toBeLessThan(rmse);
			expect(Math.abs(scores.records.bias_pct)).toBeLessThan(bias);
		},
	);

	// Tanks that kept grain, and steps that look like it: five and six weights.
	test.each([
		['rests', 922, ['constant', 'constant']],
		['step', 857, ['step', 'constant']],
		['step', 892, ['step', 'constant']],
	] as const)('%s, seed %i: a step is told from grain left in the tank', async (kind, seed, forms) => {
		const { scores } = await trial({ kind, seed }, { grid: false });
		expect(scores.factors.map((f) => f.form)).toEqual(forms);
		// A note that the tank was emptied may be wrong: both readings count.
		for (const f of scores.factors) expect(f.covered && Math.abs(f.error_pct) < 1.2).toBe(true);
	});

	test('a combine without dumps is carried within 2 %, inside its interval', async () => {
		const { scores, run } = await trial({ kind: 'silent', seed: 36 }, { grid: false });
		expect(run.factors.factors.map((f) => f.source)).toContain('seams');
		for (const f of scores.factors) {
			expect(Math.abs(f.error_pct)).toBeLessThan(2);
			expect(f.covered).toBe(true);
		}
	});
});
