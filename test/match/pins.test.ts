import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { type Pins, runField, type Source } from '../../lib/index.ts';

const sample = fileURLToPath(new URL('../../sample-fields/saltlick-bottom/', import.meta.url));

function folder(): Map<string, Source> {
	const files = readdirSync(sample).map((name): [string, Source] => {
		const bytes = readFileSync(sample + name);
		return [
			name,
			{
				name,
				bytes: bytes.length,
				async *chunks() {
					yield bytes;
				},
			},
		];
	});
	return new Map(files);
}

const d06 = async (pins: Pins) => {
	const { result } = await runField(folder(), { pins, grid: false });
	return { fate: result.dumps.find((d) => d.id === 'D06'), notes: result.notes.map((n) => n.text).join('\n') };
};

describe('the user is right', () => {
	it('a weight that the logs do not believe is used when it is pinned so, and the disagreement is told', async () => {
		expect((await d06({})).fate?.status).toBe('aside');
		const pinned = await d06({ dumps: { D06: { status: 'used' } } });
		expect(pinned.fate?.status).not.toBe('aside');
		expect(pinned.fate?.error_pct).not.toBeNull();
		expect(pinned.notes).toContain('D06 is overridden to used');
	});
});
