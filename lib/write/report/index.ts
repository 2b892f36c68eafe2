import { sha256 } from '@noble/hashes/sha2.js';
import type { Run } from '../../model/index.ts';
import type { UnitSystem } from '../../units/index.ts';
import { chain } from './chain.ts';
import { dumps } from './dumps.ts';
import { factors, moisture, reference, seams } from './factors.ts';
import { html, Markup, type Piece } from './html.ts';
import { flags, maps, totals } from './mapped.ts';
import { cautions, inputs, method, remarks, setAside } from './papers.ts';
import { Say } from './say.ts';
import { STYLE } from './style.ts';
import { verdict } from './verdict.ts';

/**
 * The report: one page that needs no other file, prints on A4 and Letter and reads in black and white. Verdict
 * first, then the chain of evidence from certified scale to map. It holds no script and no time of its making, and
 * its policy lets nothing be loaded: what stands in the files of a field is text.
 *
 * @param units how quantities are shown
 * @returns the page's bytes (UTF-8), section by section
 */
export function* reportHtml(run: Run, units: UnitSystem): Generator<Uint8Array> {
	const say = new Say(run.field.plan, units);
	const encoder = new TextEncoder();
	yield encoder.encode(head(run).text);
	const sections: ((run: Run, say: Say) => Markup | null)[] = [
		title,
		verdict,
		cautions,
		chain,
		maps,
		reference,
		dumps,
		factors,
		seams,
		moisture,
		totals,
		flags,
		setAside,
		remarks,
		inputs,
		method,
	];
	for (const section of sections) {
		const markup = section(run, say);
		if (markup !== null) yield encoder.encode(`${markup.text}\n`);
	}
	yield encoder.encode('</main></body></html>\n');
}

function head(run: Run): Markup {
	// Nothing may be loaded or run; the one style sheet is known by its hash.
	const policy = `default-src 'none'; img-src data:; style-src 'sha256-${base64(sha256(new TextEncoder().encode(STYLE)))}'`;
	return html`<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${nameOf(run)} – weighed</title>
${new Markup(`<style>${STYLE}</style>`)}</head>
<body><main>
`;
}

const nameOf = (run: Run): string => run.field.plan.name || 'Field';

function title(run: Run): Markup {
	const { plan, records } = run.field;
	const where: Piece[] = [plan.client, plan.farm, plan.season === null ? null : `season ${plan.season}`].filter(
		(t) => t !== null && t !== '',
	);
	return html`<header class="head"><div><h1>${nameOf(run)}</h1>
<p class="soft">${[...where, plan.crop.name, records.combines.length === 1 ? 'one combine' : `combines ${records.combines.join(', ')}`].join(' · ')}</p></div>
<p class="mark"><b>Steelyard</b>Yield monitors weighed against the cart</p></header>`;
}

function base64(bytes: Uint8Array): string {
	return btoa(String.fromCharCode(...bytes));
}
