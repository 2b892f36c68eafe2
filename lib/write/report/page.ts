import { sha256 } from '@noble/hashes/sha2.js';
import type { Run } from '../../model/index.ts';
import { html, Markup, type Piece } from './html.ts';
import { STYLE } from './style.ts';

/** The end of the page. */
export const FOOT = '</main></body></html>\n';

/** The start of the page: nothing may be loaded or run, and the one style sheet is allowed by its hash. */
export function head(run: Run, what: string): Markup {
	const policy = `default-src 'none'; img-src data:; style-src 'sha256-${base64(sha256(new TextEncoder().encode(STYLE)))}'`;
	return html`<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${nameOf(run)} – ${what}</title>
${new Markup(`<style>${STYLE}</style>`)}</head>
<body><main>
`;
}

const nameOf = (run: Run): string => run.field.plan.name || 'Field';

/** Name, season, crop and combines. */
export function title(run: Run): Markup {
	const { plan, records } = run.field;
	const where: Piece[] = [plan.client, plan.farm, plan.season === null ? null : `season ${plan.season}`].filter(
		(t) => t !== null && t !== '',
	);
	return html`<header class="head"><div><h1>${nameOf(run)}</h1>
<p class="soft">${[...where, plan.crop.name, `${records.combines.length === 1 ? 'combine' : 'combines'} ${records.combines.join(', ')}`].join(' · ')}</p></div>
<p class="mark"><b>Steelyard</b>Yield monitors checked against weights</p></header>`;
}

function base64(bytes: Uint8Array): string {
	return btoa(String.fromCharCode(...bytes));
}
