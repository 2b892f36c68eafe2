import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../', import.meta.url));

/** Lints one planted file in a room and returns what Biome says. */
function plant(room: string, text: string): { status: number | null; says: string } {
	const dir = mkdtempSync(join(root, room, 'planted-'));
	try {
		const file = join(dir, 'planted.ts');
		writeFileSync(file, text);
		const path = `${room}/${basename(dir)}/planted.ts`;
		const done = spawnSync('npx', ['biome', 'lint', path], { cwd: root, encoding: 'utf8' });
		return { status: done.status, says: done.stdout + done.stderr };
	} finally {
		rmSync(dir, { recursive: true, force: true });
	}
}

describe('imports run one way', () => {
	const bad: [string, string][] = [
		['lib/track', "import { matchField } from '../../match/index.ts';\nexport const x = matchField;\n"],
		['lib/stats', "import { readField } from '../../read/index.ts';\nexport const x = readField;\n"],
		['lib/map', "import proj4 from 'proj4';\nexport const x = proj4;\n"],
		['lib/read', "import { readFile } from 'node:fs/promises';\nexport const x = readFile;\n"],
		['lib/pipeline', "import { serve } from '../../commands/server.ts';\nexport const x = serve;\n"],
		['lib/commands', "import { trackField } from '../../track/index.ts';\nexport const x = trackField;\n"],
		['viewer', "import { trackField } from '../../lib/track/index.ts';\nexport const x = trackField;\n"],
	];
	for (const [room, text] of bad) {
		it(`a bad import planted in ${room} is refused`, () => {
			const { status, says } = plant(room, text);
			expect(says).toContain('noRestrictedImports');
			expect(status).not.toBe(0);
		});
	}
	it('a good one passes', () => {
		const { status, says } = plant(
			'lib/track',
			"import type { Track } from '../../model/index.ts';\n\nexport type X = Track;\n",
		);
		expect(says).not.toContain('noRestrictedImports');
		expect(status).toBe(0);
	});
});
