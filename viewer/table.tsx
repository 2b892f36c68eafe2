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
