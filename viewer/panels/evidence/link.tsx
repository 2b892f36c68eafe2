/** One step from scale to map: its name, verdict, main number, plot, and its table when opened. */

import type { ComponentChildren } from 'preact';
import { Button } from '../../inputs.tsx';
import { hold, type Lit, lights, scene, shining } from '../../state/field.ts';
import { strings } from '../../strings/index.ts';
import { ScrollBox } from '../../table.tsx';
import { shines } from './shine.ts';

export function Link(props: {
	id: string;
	name: string;
	/** Its verdict in a sentence. */
	verdict: ComponentChildren;
	tone?: 'good' | 'warn' | 'bad';
	/** The number used by the next step, with its interval below it. */
	figure?: { value: ComponentChildren; interval?: string };
	children?: ComponentChildren;
	table?: ComponentChildren;
	tableName?: string;
}) {
	return (
		<section class="link" aria-labelledby={`link-${props.id}`}>
			<h2 id={`link-${props.id}`}>{props.name}</h2>
			<div class="link-head">
				<p class={props.tone ?? ''}>{props.verdict}</p>
				{props.figure && (
					<p class="figure">
						<span class="numeral">{props.figure.value}</span>
						{props.figure.interval && <span class="soft small">{props.figure.interval}</span>}
					</p>
				)}
			</div>
			{props.children}
			{props.table && (
				<details>
					<summary>{props.tableName ?? strings.evidence.table}</summary>
					<ScrollBox class="table-box">{props.table}</ScrollBox>
				</details>
			)}
		</section>
	);
}

/** A table row highlighted together with its ground. Its first cell is a button, for use by keyboard. */
export function LitRow(props: { what: Lit; name: ComponentChildren; class?: string; children: ComponentChildren }) {
	const s = scene.value;
	const on = !!s && shines(props.what, shining.value, s);
	const pointer = lights(props.what);
	return (
		<tr
			class={`${on ? 'lit' : ''} ${props.class ?? ''}`}
			onPointerEnter={pointer.onPointerEnter}
			onPointerLeave={pointer.onPointerLeave}
		>
			<th scope="row">
				<Button
					class="plain"
					onFocus={pointer.onFocus}
					onBlur={pointer.onBlur}
					onClick={() => hold(props.what)}
					text={props.name}
				/>
			</th>
			{props.children}
		</tr>
	);
}

/** A combine's letter in its color. */
export function CombineName(props: { combine: number; name: string }) {
	return <b class={`combine c${props.combine % 6}`}>{props.name}</b>;
}
