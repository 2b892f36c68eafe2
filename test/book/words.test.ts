import { expect, it } from 'vitest';
import type { Kind } from '../../lib/book/index.ts';
import { columnsOf } from '../../viewer/book/model/entry-columns.ts';
import { rows } from '../../viewer/strings/book/rows.ts';

it('every value of a row that is shown has a name', () => {
	const shown = (Object.keys(rows.kinds) as Kind[]).flatMap(columnsOf);
	expect(shown).toContain('away');
	expect(shown.filter((key) => rows.columns[key] === undefined)).toEqual([]);
});
