// Writes a simulated field folder: npx tsx test/sim/write.ts KIND SEED DIR
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { KINDS, type Kind, simulate } from './index.ts';

const [kind, seed, dir] = process.argv.slice(2);
if (!kind || !seed || !dir || !KINDS.includes(kind as Kind)) {
	console.error(`usage: write.ts KIND SEED DIR\nkinds: ${KINDS.join(' ')}`);
	process.exit(2);
}
mkdirSync(dir, { recursive: true });
for (const [name, text] of simulate({ kind: kind as Kind, seed: Number(seed) }).files)
	writeFileSync(join(dir, name), text);
