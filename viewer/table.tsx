/** Tables of all views. */
import type { ComponentChildren } from 'preact';

/** The heads of a table's columns; `n` for a column of numbers. */
export function Heads(props: { of: readonly (string | undefined | { n: ComponentChildren })[] }) {
	return (
		<thead>
			<tr>
				{props.of.map((head, k) =>
					typeof head === 'object' ? (
						<th scope="col" class="n" key={`${k}`}>
							{head.n}
						</th>
					) : (
						<th scope="col" key={`${k}`}>
							{head}
						</th>
					),
				)}
			</tr>
		</thead>
	);
}

/** A box that scrolls what is wider than the screen, by keyboard too. */
export function ScrollBox(props: { class: string; label?: string; children: ComponentChildren }) {
	return (
		// biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard.
		<section class={props.class} tabIndex={0} aria-label={props.label}>
			{props.children}
		</section>
	);
}

/** A list of texts, one line each. */
export function Lines(props: { of: readonly string[]; class?: string }) {
	return (
		<ul class={props.class}>
			{props.of.map((line) => (
				<li key={line}>{line}</li>
			))}
		</ul>
	);
}

/** A list of labeled values; null for what is not shown. A third entry is the line's class. */
export function Facts(props: {
	of: readonly (readonly [label: string, value: ComponentChildren, look?: string] | null)[];
}) {
	return (
		<dl>
			{props.of.map(
				(fact) =>
					fact && (
						<div key={fact[0]} class={fact[2]}>
							<dt>{fact[0]}</dt>
							<dd>{fact[1]}</dd>
						</div>
					),
			)}
		</dl>
	);
}
