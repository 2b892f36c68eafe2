import { useEffect, useRef } from 'preact/hooks';
import { marks } from '../../state/format.ts';
import { typed, written } from '../../state/typed.ts';
import { strings } from '../../strings/index.ts';

/** Digits after the point that are kept of what stands in an input. */
const DIGITS = 9;

/**
 * A number to type, with its label before or after it: with a decimal point or comma, whichever the reader's language has.
 * What is no number, or none from `min` to `max`, is told and not taken. A result that arrives meanwhile leaves what is
 * being typed alone; only another `value` replaces it, and what was typed and not taken gives way to the value that stands.
 */
export function NumberInput({
	before,
	after,
	value,
	change,
	min = -Infinity,
	max = Infinity,
	placeholder,
}: {
	before?: string;
	after?: string;
	value: number | '';
	/** Called with NaN for an input that was emptied. */
	change: (typed: number) => void;
	placeholder?: number | '';
	min?: number;
	max?: number;
}) {
	const input = useRef<HTMLInputElement>(null);
	const text = (of: number | '') => (of === '' ? '' : written(of, DIGITS, marks));
	const show = () => {
		if (input.current) input.current.value = text(value);
	};
	useEffect(show, [value]);
	const take = (box: HTMLInputElement) => {
		const found = box.value.trim() === '' ? Number.NaN : typed(box.value, marks);
		if (found === null || found < min || found > max) {
			box.setCustomValidity(strings.work.numberFrom(text(min), text(max)));
			box.reportValidity();
			show();
			return;
		}
		show();
		change(found);
	};
	return (
		<label>
			{before}
			<input
				ref={input}
				type="text"
				inputMode="decimal"
				placeholder={placeholder === undefined ? undefined : text(placeholder)}
				onInput={(e) => e.currentTarget.setCustomValidity('')}
				onChange={(e) => take(e.currentTarget)}
			/>
			{after}
		</label>
	);
}
