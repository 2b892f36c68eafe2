import { comparisonTables, type Run, type UnitSystem } from '../index.ts';
import { plain, table } from './terminal.ts';

/** What `compare` prints. */
export function sideBySide(run: Run, units: UnitSystem): string {
	const parts = [plain(run.field.plan.name)];
	for (const t of comparisonTables(run, units)) {
		parts.push(
			`${plain(t.title)}\n${table(
				t.head.map(plain),
				t.rows.map((r) => r.map(plain)),
				t.right,
			)}`,
		);
		for (const remark of t.remarks) parts.push(plain(remark));
	}
	if (run.comparison.pairs.length === 0) parts.push('One combine cut here: there is nothing to compare.');
	return [...parts, ...run.comparison.advice.map(plain)].join('\n\n');
}
