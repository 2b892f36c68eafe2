import { comparisonTables, inOneSystem, type Run, type UnitSystem } from '../index.ts';
import { plain, table, wrapped } from './terminal.ts';

/** The text that `compare` prints. */
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
		for (const remark of t.remarks) parts.push(wrapped(plain(inOneSystem(remark, units))));
	}
	if (run.comparison.pairs.length === 0) parts.push('One combine cut here, so there is nothing to compare.');
	return [...parts, ...run.comparison.advice.map((a) => wrapped(plain(a)))].join('\n\n');
}
