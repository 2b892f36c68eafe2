/** The load book for work in the field: one page at a time, large targets, works without a network. */
import { effect, signal } from '@preact/signals';
import './style/book.css';
import './style/pages.css';
import './style/now.css';
import './style/sheet.css';
import './style/nav.css';
import { Button } from '../inputs.tsx';
import { reconnect } from './model/live.ts';
import { go, PAGES, type PageName, page } from './model/route.ts';
import { conflicting, openBook, ready } from './model/state.ts';
import { t } from './model/words.ts';
import { Now } from './now/index.tsx';
import { AnswerPage } from './pages/answer.tsx';
import { KeepPage } from './pages/backup.tsx';
import { FieldsPage } from './pages/fields.tsx';
import { RowsPage } from './pages/rows.tsx';
import { SafetyPage } from './pages/safety.tsx';
import { SetupPage } from './pages/setup.tsx';
import { TicketsPage } from './pages/tickets.tsx';
import { TotalsPage } from './pages/totals.tsx';
import { AskSheet, Care } from './ui/parts.tsx';
import { RowSheet } from './ui/row.tsx';

void openBook().then(reconnect);

const pages: Record<PageName, () => preact.JSX.Element> = {
	now: Now,
	answer: AnswerPage,
	tickets: TicketsPage,
	rows: RowsPage,
	totals: TotalsPage,
	fields: FieldsPage,
	keep: KeepPage,
	setup: SetupPage,
	safety: SafetyPage,
};

// A new page starts at its top, and so does the keyboard where the button that led here is gone.
effect(() => {
	void page.value;
	const inside = document.querySelector<HTMLElement>('.fieldside .inside');
	inside?.scrollTo(0, 0);
	requestAnimationFrame(() => document.activeElement === document.body && inside?.focus());
});

export function Book() {
	const state = ready.value;
	if (state === 'opening') return <p class="soft">{t.opening}</p>;
	if (state !== 'open')
		return (
			<Care bad>
				{t.cannotOpen} {state.failed}
			</Care>
		);
	const Page = pages[page.value];
	return (
		<div class="fieldside">
			<Pages />
			{/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must scroll by keyboard too. */}
			<div class="inside" tabIndex={0}>
				<Page />
			</div>
			<RowSheet />
			<AskSheet />
		</div>
	);
}

/** The four pages of a working day are within reach of the thumb; on a small screen the others are one more tap away. */
const DAILY = 4;
const unfolded = signal(false);

function Pages() {
	const item = (p: PageName) => (
		<button
			key={p}
			type="button"
			aria-current={page.value === p ? 'page' : undefined}
			onClick={() => {
				unfolded.value = false;
				go(p);
			}}
		>
			{t.pageNames[p]}
			{p === 'rows' && conflicting.value.length > 0 && (
				<>
					<span class="count" aria-hidden="true">
						{conflicting.value.length}
					</span>
					<span class="visually-hidden">: {t.conflictsFound(conflicting.value.length)}</span>
				</>
			)}
		</button>
	);
	const rest = PAGES.slice(DAILY);
	return (
		<nav aria-label={t.pages}>
			{PAGES.slice(0, DAILY).map(item)}
			<Button
				class="unfold"
				aria-expanded={unfolded.value}
				aria-current={rest.includes(page.value) ? 'page' : undefined}
				onClick={() => (unfolded.value = !unfolded.value)}
				text={t.morePages}
			/>
			<div class={unfolded.value ? 'rest unfolded' : 'rest'}>{rest.map(item)}</div>
		</nav>
	);
}
