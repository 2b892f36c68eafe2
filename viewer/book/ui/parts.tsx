/** Small pieces that the book's pages share. */
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { type Against, type Example, example } from '../../../lib/book/index.ts';
import { number } from '../../state/format.ts';
import { nameOfThing, t } from '../model/words.ts';

/** A row of choices of which one holds. */
export function Pick<T extends string | null>(props: {
	label: string;
	options: readonly (readonly [T, string])[];
	value: T;
	choose: (value: T) => void;
}) {
	return (
		// biome-ignore lint/a11y/useSemanticElements: a fieldset cannot be laid out as one row of large targets.
		<div class="pick" role="group" aria-label={props.label}>
			{props.options.map(([value, text]) => (
				<button
					key={String(value)}
					type="button"
					aria-pressed={props.value === value}
					onClick={() => props.choose(value)}
				>
					{text}
				</button>
			))}
		</div>
	);
}

/** A labelled field to write in. */
export function Box(props: {
	label: string;
	value: string;
	set: (value: string) => void;
	unit?: string;
	numeric?: boolean;
	list?: string;
	type?: 'text' | 'search' | 'datetime-local';
	name?: string;
}) {
	return (
		<label class="box">
			<span>{props.label}</span>
			<span class="written">
				<input
					type={props.type ?? 'text'}
					// Times are told to the second.
					step={props.type === 'datetime-local' ? 1 : undefined}
					inputMode={props.numeric ? 'decimal' : undefined}
					autoComplete="off"
					list={props.list}
					name={props.name}
					value={props.value}
					onInput={(e) => props.set(e.currentTarget.value)}
				/>
				{props.unit && <span class="unit">{props.unit}</span>}
			</span>
		</label>
	);
}

/** A labelled list to choose from. */
export function Menu(props: {
	label: string;
	value: string;
	options: readonly (readonly [string, string])[];
	set: (value: string) => void;
}) {
	return (
		<label class="box">
			<span>{props.label}</span>
			<select value={props.value} onChange={(e) => props.set(e.currentTarget.value)}>
				{props.options.map(([value, text]) => (
					<option key={value} value={value} selected={value === props.value}>
						{text}
					</option>
				))}
			</select>
		</label>
	);
}

/** A sheet over the page. Escape and the close button shut it; the focus stays inside. */
export function Sheet(props: { title: string; close: () => void; children: ComponentChildren }) {
	const dialog = useRef<HTMLDialogElement>(null);
	useEffect(() => {
		const d = dialog.current!;
		if (!d.open) d.showModal();
		return () => d.close();
	}, []);
	return (
		<dialog
			ref={dialog}
			class="sheet"
			aria-label={props.title}
			onCancel={(e) => {
				e.preventDefault();
				props.close();
			}}
		>
			<header>
				<h2>{props.title}</h2>
				<button type="button" onClick={props.close}>
					{t.close}
				</button>
			</header>
			<div class="body">{props.children}</div>
		</dialog>
	);
}

/** A hand-worked example, folded away under the screen whose arithmetic it shows. */
export function Worked(props: { id: Example['id'] }) {
	const e = example(props.id);
	return (
		<details class="worked">
			<summary>{t.worked[props.id]}</summary>
			<ol>
				{t.workedSteps[props.id].map((s) => (
					<li key={s}>{s}</li>
				))}
			</ol>
			<p class="soft small">{e.source}</p>
		</details>
	);
}

/** A line that asks for care. */
export function Care(props: { children: ComponentChildren; bad?: boolean }) {
	return (
		<p class={props.bad ? 'care bad-care' : 'care'} role={props.bad ? 'alert' : undefined}>
			{props.children}
		</p>
	);
}

/** Who reads higher, and whether it is real. */
export function Pair(props: { pair: Against }) {
	const { first, second, diff_pct, real } = props.pair;
	const size = `${number(Math.abs(diff_pct), 1)} %`;
	return <>{t.against(nameOfThing(first), nameOfThing(second), size, diff_pct > 0, real)}</>;
}
