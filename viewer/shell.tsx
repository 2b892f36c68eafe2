import type { ComponentChildren } from 'preact';
import { Choice } from './inputs.tsx';
import { theme, units } from './state/settings.ts';
import { strings } from './strings/index.ts';

/** Units and theme: the same two on every view. */
export function Settings() {
	const t = strings.shell;
	return (
		<div class="row">
			<Choice
				label={t.units}
				options={[
					['us', t.us],
					['metric', t.metric],
				]}
				value={units.value}
				choose={(u) => (units.value = u)}
			/>
			<Choice
				label={t.theme}
				options={[
					['light', t.light],
					['dark', t.dark],
					['sun', t.sun],
				]}
				value={theme.value}
				choose={(v) => (theme.value = v)}
			/>
		</div>
	);
}

/** The head of the page and the view under it. */
export function Shell(props: {
	title: ComponentChildren;
	views: ComponentChildren;
	/** A line under the head: work under way, a notice. */
	bar?: ComponentChildren;
	children: ComponentChildren;
}) {
	return (
		<div class="shell">
			<header class="head">
				<div class="title">{props.title}</div>
				{props.views}
				<Settings />
			</header>
			<div>{props.bar}</div>
			<main class="view" tabIndex={-1}>
				{props.children}
			</main>
		</div>
	);
}
