// Writes a simulated field folder: npx tsx test/sim/write.ts KIND SEED DIR
// The sample field:                npx tsx test/sim/write.ts sample
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { KINDS, type Kind, simulate } from './index.ts';
import { SAMPLE, sampleField } from './sample.ts';

const [kind, seed, dir] = process.argv.slice(2);
const save = (files: Map<string, string>, into: string) => {
	mkdirSync(into, { recursive: true });
	for (const [name, text] of files) writeFileSync(join(into, name), text);
};
if (kind === 'sample') {
	save(sampleField().files, fileURLToPath(new URL(`../../sample-fields/${SAMPLE}`, import.meta.url)));
} else if (kind && seed && dir && KINDS.includes(kind as Kind)) {
	save(simulate({ kind: kind as Kind, seed: Number(seed) }).files, dir);
} else {
	console.error(`usage: write.ts KIND SEED DIR\nkinds: sample ${KINDS.join(' ')}`);
	process.exit(2);
}
