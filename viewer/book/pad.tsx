/** The number pad: large keys, and the keys of a keyboard where there is one. */
import { useEffect } from 'preact/hooks';
import { t } from './words.ts';

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
			{['7', '8', '9', '4', '5', '6', '1', '2', '3', '.', '0'].map((k) => (
				<button key={k} type="button" onClick={() => press(k)}>
					{k}
				</button>
			))}
			<button type="button" aria-label={t.back} onClick={() => press('back')}>
				⌫
			</button>
		</div>
	);
}
