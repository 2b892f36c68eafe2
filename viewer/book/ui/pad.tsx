/** The number pad: large keys, and the keys of a keyboard where there is one. */
import type { Signal } from '@preact/signals';
import { useLayoutEffect } from 'preact/hooks';
import { t } from '../model/words.ts';

/** In the order of a keypad of three columns; the class says the row in one of four. */
const KEYS = [
	['7', 'of1'],
	['8', 'of1'],
	['9', 'of1'],
	['4', 'of2'],
	['5', 'of2'],
	['6', 'of2'],
	['1', 'of3'],
	['2', 'of3'],
	['3', 'of3'],
	['.', 'of2'],
	['0', 'of3'],
	['back', 'of1'],
] as const;

export function Pad(props: { value: Signal<string> }) {
	// The signal itself, not a value of the last drawing: two quick taps are two digits.
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
			const key = e.key === 'Backspace' ? 'back' : e.key === ',' ? '.' : e.key;
			if (/^[0-9.]$|^back$/.test(key)) {
				e.preventDefault();
				press(key);
			}
		};
		addEventListener('keydown', listen);
		return () => removeEventListener('keydown', listen);
	}, [props.value]);
	return (
		// biome-ignore lint/a11y/useSemanticElements: a fieldset cannot be laid out as a grid of keys.
		<div class="pad" role="group" aria-label={t.pad}>
			{KEYS.map(([key, row]) => (
				<button
					key={key}
					type="button"
					class={row}
					aria-label={key === 'back' ? t.back : undefined}
					onClick={() => press(key)}
				>
					{key === 'back' ? '⌫' : key}
				</button>
			))}
		</div>
	);
}
