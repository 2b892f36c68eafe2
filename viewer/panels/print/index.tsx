/** The report as `correct` writes it, for viewing and printing. */
import { signal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import '../../style/print.css';
import { exported } from '../../engine/client.ts';
import { readyRun } from '../../engine/open.ts';
import { Button } from '../../inputs.tsx';
import { origin, scene } from '../../state/field.ts';
import { units } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { fileName, saveAs } from '../work/save.ts';

const t = strings.print;
const report = signal<Blob | null>(null);
const fault = signal<string | null>(null);

export function Print() {
	const s = scene.value;
	const box = useRef<HTMLDivElement>(null);
	const chosen = units.value;
	useEffect(() => {
		if (!s || origin.value === 'results') return;
		let gone = false;
		report.value = null;
		fault.value = null;
		(async () => {
			try {
				await readyRun();
				const blob = await exported('report.html');
				const text = await blob.text();
				if (gone || !box.current) return;
				report.value = blob;
				place(text, box.current);
			} catch (e) {
				fault.value = (e as Error).message;
			}
		})();
		return () => {
			gone = true;
		};
	}, [s, chosen]);
	if (!s) return <p class="page-text soft">{strings.compare.nothing}</p>;
	if (origin.value === 'results') return <p class="page-text">{t.results}</p>;
	return (
		<div class="print">
			<div class="row print-bar">
				<Button class="main" disabled={!report.value} onClick={() => window.print()} text={t.print} />
				<Button
					disabled={!report.value}
					onClick={() => report.value && saveAs(fileName('report.html'), report.value)}
					text={t.save}
				/>
				{!report.value && !fault.value && <span role="status">{t.making}</span>}
				{fault.value && (
					<span role="alert" class="bad">
						{fault.value}
					</span>
				)}
			</div>
			<div class="report" ref={box} />
		</div>
	);
}

/**
 * The report is a page with its own style rules, so it is shown in a shadow root. Its rules are added as a constructed
 * style sheet, which the page's policy allows, unlike a style element.
 */
function place(html: string, host: HTMLElement): void {
	const root = host.shadowRoot ?? host.attachShadow({ mode: 'open' });
	const rules: string[] = [];
	// Remove it from the text, since even a parsed style element is refused.
	const plain = html.replace(/<style[^>]*>([\s\S]*?)<\/style>/gi, (_, text: string) => {
		rules.push(text);
		return '';
	});
	const page = new DOMParser().parseFromString(plain, 'text/html');
	const sheet = new CSSStyleSheet();
	sheet.replaceSync(
		rules
			.join('\n')
			.replaceAll(':root', ':host')
			.replace(/(^|[},\s])(html|body)(?=[\s,{.:])/g, '$1.report-body')
			// An @page rule has no effect inside a shadow root; the page's own print style has it.
			.replace(/@page[^{]*\{[^}]*\}/g, ''),
	);
	root.adoptedStyleSheets = [sheet];
	const body = document.createElement('div');
	body.className = 'report-body';
	// The page already has a main element.
	const main = page.querySelector('main');
	main?.replaceWith(...main.childNodes);
	body.append(...page.body.childNodes);
	root.replaceChildren(body);
}
