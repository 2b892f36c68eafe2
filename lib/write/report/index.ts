import type { Run } from '../../model/index.ts';
import type { UnitSystem } from '../../units/index.ts';
import { cautions, inputs, method, remarks, setAside } from './appendix.ts';
import { dumps, trucks } from './dumps.ts';
import { factors, moisture, seams } from './factors.ts';
import type { Markup } from './html.ts';
import { landlord } from './landlord.ts';
import { flags, maps, totals } from './mapped.ts';
import { FOOT, head, title } from './page.ts';
import { readings } from './readings.ts';
import { Say } from './say.ts';
import { scaleToMap } from './scale-to-map.ts';
import { verdict } from './verdict.ts';

/**
 * The report: one page that needs no other file, prints on A4 and Letter, and is readable in black and white. The page
 * for the owner of the grain comes first, then everything behind it, from certified scale to map. It has no script and
 * no creation time, and its policy lets nothing be loaded: contents of a field's files are only shown as text.
 *
 * @param units - how quantities are shown
 * @returns the page's bytes (UTF-8), section by section
 */
export function* reportHtml(run: Run, units: UnitSystem): Generator<Uint8Array> {
	const say = new Say(run.field.plan, units);
	const encoder = new TextEncoder();
	yield encoder.encode(head(run, 'weighed').text);
	const sections: ((run: Run, say: Say) => Markup | null)[] = [
		title,
		landlord,
		verdict,
		cautions,
		scaleToMap,
		maps,
		trucks,
		dumps,
		factors,
		seams,
		moisture,
		totals,
		flags,
		setAside,
		remarks,
		inputs,
		readings,
		method,
	];
	for (const section of sections) {
		const markup = section(run, say);
		if (markup !== null) yield encoder.encode(`${markup.text}\n`);
	}
	yield encoder.encode(FOOT);
}
