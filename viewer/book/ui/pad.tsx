/** The number pad: large keys, and keyboard input if there is a keyboard. */
import type { Signal } from '@preact/signals';
import { useLayoutEffect } from 'preact/hooks';
import { Button } from '../../inputs.tsx';
import { marks, t } from '../model/words.ts';

/** The same places whichever way the device is held. */
const KEYS = ['7', '8', '9', '4', '5', '6', '1', '2', '3', '.', '0', 'back'] as const;

/** Digits with a point, in every locale; `shownDigits` formats them for the locale. */
export function Pad(props: { value: Signal<string>; enter?: () => void }) {
	// The signal itself, not the value last drawn: two quick taps are two digits.
	const press = (key: string) => {
		const held = props.value.value;
		if (key === 'back') props.value.value = held.slice(0, -1);
		else if (key === '.') {
			if (!held.includes('.')) props.value.value = `${held === '' ? '0' : held}.`;
		} else if (held.replace('.', '').length < 7) props.value.value = held === '0' ? key : held + key;
	};
	useLayoutEffect(() => {
		const listen = (e: KeyboardEvent) => {
			const at = e.target as HTMLElement | null;
			if (e.ctrlKey || e.metaKey || e.altKey || at?.closest('input, select, textarea, dialog')) return;
			if (e.key === 'Enter' && at === document.body) props.enter?.();
			// The group separator is not a decimal separator: "38,800" is 38800 in a locale that writes it that way.
			const key = e.key === 'Backspace' ? 'back' : e.key === marks.decimal ? '.' : e.key === '.' ? '' : e.key;
			if (/^[0-9.]$|^back$/.test(key)) {
				e.preventDefault();
				press(key);
			}
		};
		addEventListener('keydown', listen);
		return () => removeEventListener('keydown', listen);
	}, [props.value, props.enter]);
	return (
		// biome-ignore lint/a11y/useSemanticElements: a fieldset cannot be laid out as a grid of keys.
		<div class="pad" role="group" aria-label={t.pad}>
			{KEYS.map((key) => (
				<Button
					key={key}
					aria-label={key === 'back' ? t.back : undefined}
					onClick={() => press(key)}
					text={key === 'back' ? '⌫' : key === '.' ? marks.decimal : key}
				/>
			))}
		</div>
	);
}

/** The pad's contents as a number; null if it is not one. */
export const padNumber = (digits: string): number | null => (/^\d+\.?\d*$/.test(digits) ? Number(digits) : null);

const whole = new Intl.NumberFormat(navigator.language);

/** Formats 27140 as 27,140 while it is keyed. */
export function shownDigits(digits: string): string {
	const [n = '', part] = digits.split('.');
	return part === undefined ? whole.format(Number(n)) : `${whole.format(Number(n))}${marks.decimal}${part}`;
}
