import { existsSync, readFileSync } from 'node:fs';
import { afterEach, expect, it } from 'vitest';
import { readSources, understand } from '../../lib/index.ts';

const OPEN = new URL('../../../shared/data/task-data.zip', import.meta.url);
if (!existsSync(OPEN)) console.warn('SKIPPED: ../shared/data/task-data.zip is absent.');

const zone = process.env.TZ;
afterEach(() => {
	if (zone === undefined) delete process.env.TZ;
	else process.env.TZ = zone;
});

it.skipIf(!existsSync(OPEN)).each(['UTC', 'Asia/Tokyo'])(
	'a task controller’s clock is local time of the field, though the program runs in %s',
	async (running) => {
		process.env.TZ = running;
		const chunks = async function* () {
			yield new Uint8Array(readFileSync(OPEN));
		};
		const { report } = understand(await readSources([{ name: 'task-data.zip', chunks }]), { crop: 'wheat' });
		// The first task starts at 2020-01-02T17:30:20 as TASKDATA.XML states it; Germany is an hour ahead of UTC in winter.
		expect(report.fields.flatMap((f) => f.combines.map((c) => c.start))).toContain('2020-01-02T16:30:20Z');
	},
);
