/** Inputs of all views. */
import type { ComponentChildren, ComponentProps } from 'preact';

/** A button with a plain label. One that is disabled keeps the focus: whoever works by keyboard goes on where they were. */
export function Button({ text, disabled, ...given }: ComponentProps<'button'> & { text: ComponentChildren }) {
	const off = disabled ? { 'aria-disabled': true, onClick: (e: Event) => e.preventDefault() } : {};
	return (
		<button type="button" {...given} {...off}>
			{text}
		</button>
	);
}

/** A form that the page handles itself. */
export function Form({ submit, ...given }: Omit<ComponentProps<'form'>, 'onSubmit'> & { submit: () => unknown }) {
	return (
		<form
			noValidate
			{...given}
			onSubmit={(e) => {
				e.preventDefault();
				void submit();
			}}
		/>
	);
}

/** A list to choose from: values and their labels. */
export function Select<T extends string>({
	options,
	value,
	set,
	...given
}: {
	options: readonly (readonly [value: T, label: string | undefined])[];
	value: T;
	set: (value: T) => void;
	id?: string;
	'aria-label'?: string;
}) {
	return (
		<select {...given} value={value} onChange={(e) => set(e.currentTarget.value as T)}>
			{options.map(([key, label]) => (
				<option key={key} value={key} selected={key === value}>
					{label}
				</option>
			))}
		</select>
	);
}

/** A row of buttons of which one is chosen. */
export function Choice<T extends string | null>(props: {
	label: string;
	options: readonly (readonly [T, string])[];
	value: T;
	choose: (value: T) => void;
	class?: string;
}) {
	return (
		// biome-ignore lint/a11y/useSemanticElements: a fieldset cannot be laid out in one line with its neighbors.
		<div class={props.class ?? 'joined'} role="group" aria-label={props.label}>
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

/** A box to check, with its label. */
export function Check(props: { label: string; checked: boolean; set: (checked: boolean) => void }) {
	return (
		<label class="check">
			<input type="checkbox" checked={props.checked} onChange={(e) => props.set(e.currentTarget.checked)} />
			<span>{props.label}</span>
		</label>
	);
}
