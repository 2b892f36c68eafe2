/** The number pad: large keys, and the keys of a keyboard where there is one. */
import { useEffect } from 'preact/hooks';
import { t } from './words.ts';

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

export function Pad(props: { value: string; set: (value: string) => void }) {
	const press = (key: string) => {
		if (key === 'back') props.set(props.value.slice(0, -1));
		else if (key === 'clear') props.set('');
		else if (key === '.') {
			if (!props.value.includes('.')) props.set(`${props.value === '' ? '0' : props.value}.`);
		} else if (props.value.replace('.', '').length < 7) props.set(props.value === '0' ? key : props.value + key);
	};
	useEffect(() => {
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
	});
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
