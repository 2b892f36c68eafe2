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
