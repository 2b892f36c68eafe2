import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { summary, understanding } from '../../lib/commands/summary.ts';
import { type Run, stated } from '../../lib/model/index.ts';
import { runField } from '../../lib/pipeline/index.ts';
import {
	clockSentence,
	formatNumber,
	formatSigned,
	monitorSentence,
	POUND_KG,
	seamSentences,
} from '../../lib/units/index.ts';
import { makeScene, reportHtml } from '../../lib/write/index.ts';
import { littleField, unweighedField } from '../commands/little.ts';
import { type Kind, SMALL, simulate } from '../sim/index.ts';
import { sampleRun } from '../viewer/sample.ts';
import { folder } from './fixture.ts';

const ACRE_HA = 0.40468564224;

const small = (seed: number, kind: Kind) =>
	runField(simulate({ seed, kind, overrides: SMALL }).folder, { grid: false });

const fields: [string, () => Promise<Run>][] = [
	['the sample field', async () => (await sampleRun()).run],
	['a field of one combine', () => runField(folder(littleField()))],
	['a field without a weight', () => runField(folder(unweighedField()))],
	['a simulated field with a wrong weight', () => small(881, 'wrong-weight')],
	['a simulated field of three combines', () => small(883, 'three')],
	['a simulated field of mixed weights', () => small(884, 'mixed')],
	['a simulated field with tickets alone', () => small(885, 'tickets-straight')],
	['a simulated field with a slow log', () => small(882, 'slow-log')],
];

const guide = readFileSync(new URL('../../sample-fields/GUIDE.md', import.meta.url), 'utf8');

/** The guide beside the sample field, which follows its numbers by hand, has those of a run. */
function guideAgrees({ result: { totals, combines } }: Run) {
	const lb = (kg: number) => `${formatNumber(kg / POUND_KG, 0)} lb`;
	for (const c of Object.values(combines)) {
		expect(guide).toContain(`× ${formatNumber(c.factor!.value, 3)} is ${lb(c.corrected_kg)}`);
	}
	expect(guide).toContain(`**${lb(totals.corrected_kg)}**`);
	const [low, high] = totals.dry_bu_interval!;
	const bushels = `**${formatNumber(totals.dry_bu, 0)} bu**, 95% interval ${formatNumber(low, 0)} to ${formatNumber(high, 0)}`;
	expect(guide).toContain(bushels);
	const ac = totals.area_ha / ACRE_HA;
	expect(guide).toContain(`÷ ${formatNumber(ac, 2)} ac = **${formatNumber(totals.dry_bu! / ac, 1)} bu/ac**`);
}

describe.each(fields)('one number, one definition: %s', (name, make) => {
	it('reads the same in result, report, terminal and page', async () => {
		const run = await make();
		const { result } = run;
		if (name === 'the sample field') guideAgrees(run);
		const { totals, statements } = result;
		const html = new TextDecoder().decode(Buffer.concat([...reportHtml(run, 'us')]));
		const report = html
			.replace(/<style>.*?<\/style>/s, '')
			.replace(/<[^>]+>/g, ' ')
			.replace(/&#(\d+);/g, (_all, code) => String.fromCharCode(Number(code)))
			.replace(/\s+/g, ' ');
		const terminal = `${summary(run, 'us')}\n${understanding(run, 'us')}`.replace(/\s+/g, ' ');
		const both = (text: string) => {
			expect(report).toContain(text);
			expect(terminal).toContain(text);
		};

		// Statements are the result's own numbers.
		for (const [name, { factor }] of Object.entries(result.combines)) {
			const factorStated = stated(statements, 'factor', name);
			expect(factorStated?.value).toBe(factor?.value);
			expect(factorStated?.interval ?? null).toEqual(factor?.interval ?? null);
			const error = stated(statements, 'monitor_error', name);
			if (factor) expect(error!.value).toBeCloseTo(100 * (1 / factor.value - 1), 9);
		}
		expect(stated(statements, 'dry_bushels')?.value).toBe(totals.dry_bu);
		expect(stated(statements, 'dry_bushels')?.interval ?? null).toEqual(totals.dry_bu_interval);
		expect(stated(statements, 'wet_weight')?.interval ?? null).toEqual(totals.corrected_interval);
		for (const s of statements) {
			expect(Number.isFinite(s.value)).toBe(true);
			if (s.interval) expect(s.interval[0] <= s.value && s.value <= s.interval[1]).toBe(true);
		}
		// One combine: the total is as sure as its factor.
		const [only, ...others] = Object.values(result.combines);
		if (others.length === 0 && only?.factor && totals.corrected_interval) {
			expect(totals.corrected_interval[0] / totals.corrected_kg).toBeCloseTo(
				only.factor.interval[0] / only.factor.value,
				6,
			);
		}

		// Report and terminal say them in the same words.
		for (const name of Object.keys(result.combines)) {
			if (result.combines[name]!.factor) both(monitorSentence(result, name));
		}
		const corrected = Object.values(result.combines).some((c) => c.factor !== null);
		for (const seam of result.seams) for (const text of seamSentences(seam, corrected)) both(text);
		if (clockSentence(result) !== '') both(clockSentence(result));
		both(`${formatNumber(totals.dry_bu, 0)} bu`);
		both(`${formatNumber(totals.area_ha / ACRE_HA, 2)} ac`);
		if (totals.dry_bu_interval) {
			const [low, high] = totals.dry_bu_interval;
			both(`${formatNumber(low, 0)} to ${formatNumber(high, 0)}`);
		}
		for (const d of result.dumps) if (d.error_pct !== null) both(formatSigned(d.error_pct, 1));
		for (const t of result.trucks) if (t.repaired) expect(report).toContain(`Dump ${t.repaired.dump} was about`);
		for (const n of result.notes.filter((n) => n.level === 'caution')) {
			const [start] = n.text.split(/ [\d,.]+ (?:lb|ft)/);
			both(start!);
		}
		expect(`${report}${terminal}`).not.toMatch(/NaN|undefined|Infinity/);

		// The page draws from the same table.
		expect(makeScene(run).facts.result).toBe(result);
	}, 60_000);
});
