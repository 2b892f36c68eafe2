/** Small components shared by the book's pages. */
import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { type Against, EXAMPLES } from '../../../lib/book/index.ts';
import { Button, Choice, Select } from '../../inputs.tsx';
import { cautionWords } from '../model/advice.ts';
import { ask } from '../model/asks.ts';
import { opened } from '../model/route.ts';
import { sheetOpened } from '../model/sheets.ts';
import { cautions } from '../model/state.ts';
import { nameOfThing, plainPct, t } from '../model/words.ts';

/** A name on a button: a long one is small and cut off. */
export const Called = ({ name }: { name: string }) => (
	<span class={name.length > 12 ? 'called long' : 'called'}>{name}</span>
);

/** A row of large choices of which one is selected. */
export const Pick = <T extends string | null>(props: Omit<Parameters<typeof Choice<T>>[0], 'class'>) => (
	<Choice {...props} class="pick" />
);

/** A labeled input. */
export function Box(props: {
	label: string;
	value: string;
	set: (value: string) => void;
	unit?: string;
	numeric?: boolean;
	list?: string;
	type?: 'text' | 'search' | 'datetime-local';
	name?: string;
	/** Takes the focus when it appears. */
	focus?: boolean;
}) {
	const input = useRef<HTMLInputElement>(null);
	useEffect(() => {
		// After the sheet around it has opened, which takes the focus to its first button.
		if (props.focus) queueMicrotask(() => input.current?.focus());
	}, []);
	return (
		<label class="box">
			<span>{props.label}</span>
			<span class="written">
				<input
					ref={input}
					type={props.type ?? 'text'}
					// Times have a resolution of one second.
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

/** A labeled list to choose from. */
export function Menu(props: {
	label: string;
	value: string;
	options: readonly (readonly [string, string])[];
	set: (value: string) => void;
}) {
	return (
		<label class="box">
			<span>{props.label}</span>
			<Select value={props.value} options={props.options} set={props.set} />
		</label>
	);
}

/**
 * A sheet over the page. Escape, the device's Back and the close button close it; with unsaved input (`dirty`) they
 * ask first. The focus stays inside.
 */
export function Sheet(props: { title: string; close: () => void; dirty?: boolean; children: ComponentChildren }) {
	const dialog = useRef<HTMLDialogElement>(null);
	const asks = useSignal(false);
	const leave = () => {
		if (props.dirty && !asks.value) asks.value = true;
		else if (!props.dirty) props.close();
	};
	const latest = useRef(leave);
	latest.current = leave;
	useEffect(() => {
		const d = dialog.current!;
		if (!d.open) d.showModal();
		const gone = sheetOpened(() => latest.current());
		return () => {
			gone();
			d.close();
		};
	}, []);
	return (
		<dialog
			ref={dialog}
			class="sheet"
			aria-label={props.title}
			onCancel={(e) => {
				e.preventDefault();
				leave();
			}}
		>
			<header>
				<h2>{props.title}</h2>
				<Button onClick={leave} text={t.close} />
				{asks.value && props.dirty && (
					<div class="care bad-care unsaved" role="alert">
						<p>{t.ask.drop}</p>
						<div class="buttons">
							<Button class="main" onClick={() => (asks.value = false)} text={t.keepEditing} />
							<Button onClick={props.close} text={t.yesDrop} />
						</div>
					</div>
				)}
			</header>
			<div class="body">{props.children}</div>
		</dialog>
	);
}

/** The question before something unlikely is written. It stays on top until it is answered. */
export function AskSheet() {
	const a = ask.value;
	if (!a) return null;
	const shut = () => (ask.value = null);
	return (
		<Sheet key={a.text} title={t.askTitle} close={shut}>
			<p class="asked-for" role="alert">
				{a.text}
			</p>
			<div class="answers">
				<Button class="main" onClick={shut} text={t.change} />
				<Button
					onClick={() => {
						shut();
						void a.act();
					}}
					text={a.yes}
				/>
			</div>
		</Sheet>
	);
}

/** A hand-worked example, folded, below the screen whose arithmetic it shows. */
export function Worked(props: { id: keyof typeof EXAMPLES }) {
	return (
		<details class="worked">
			<summary>{t.worked[props.id]}</summary>
			<ol>
				{t.workedSteps[props.id].map((s) => (
					<li key={s}>{s}</li>
				))}
			</ol>
			<p class="soft small">{EXAMPLES[props.id].source}</p>
		</details>
	);
}

/** Labels and what stands under each. */
export function Numbers(props: { of: readonly (readonly [label: string, value: ComponentChildren])[] }) {
	return (
		<dl class="numbers">
			{props.of.map(([label, value]) => (
				<>
					<dt>{label}</dt>
					<dd>{value}</dd>
				</>
			))}
		</dl>
	);
}

/** A line of caution. */
export function Care(props: { children: ComponentChildren; bad?: boolean }) {
	return (
		<p class={props.bad ? 'care bad-care' : 'care'} role={props.bad ? 'alert' : undefined}>
			{props.children}
		</p>
	);
}

/** Causes common to many weights that the answer allows for. */
export function Cautions() {
	return (
		<>
			{cautions.value.map((c) => (
				<Care key={JSON.stringify(c)}>{cautionWords(c)}</Care>
			))}
		</>
	);
}

/** Which combine reads higher, and whether the difference is shown. */
export function Pair(props: { pair: Against }) {
	const { first, second, diff_pct, real } = props.pair;
	const [a, b, size] = [nameOfThing(first), nameOfThing(second), plainPct(Math.abs(diff_pct))];
	return <>{size === plainPct(0) ? t.readAlike(a, b) : t.against(a, b, size, diff_pct > 0, real)}</>;
}

/** A line of a list about one row of the book; a tap opens the row. */
export function RowLine(props: { id: string; name: string; text: string; warn?: boolean }) {
	return (
		<li class={props.warn ? 'warn' : undefined}>
			<button type="button" class="plain" onClick={() => (opened.value = props.id)}>
				{props.name}
			</button>{' '}
			{props.text}
		</li>
	);
}
