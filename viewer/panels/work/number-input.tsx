import { useEffect, useRef } from 'preact/hooks';

/**
 * A number to type, with its label before or after it. A result that arrives meanwhile leaves what is being typed alone; only another `value` replaces it,
 * and what was typed and not taken gives way to the value that stands.
 */
export function NumberInput({
	before,
	after,
	value,
	change,
	...more
}: {
	before?: string;
	after?: string;
	value: number | '';
	change: (typed: number) => void;
	placeholder?: string;
	step?: string;
	min?: string;
	max?: string;
}) {
	const input = useRef<HTMLInputElement>(null);
	const show = () => {
		if (input.current) input.current.value = String(value);
	};
	useEffect(show, [value]);
	return (
		<label>
			{before}
			<input
				{...more}
				ref={input}
				type="number"
				onChange={(e) => {
					const typed = e.currentTarget.valueAsNumber;
					show();
					change(typed);
				}}
			/>
			{after}
		</label>
	);
}
