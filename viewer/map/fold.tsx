/** A panel over the map: open where there is room, else folded behind its name. */
import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect } from 'preact/hooks';
import { Button } from '../inputs.tsx';

/** Least width of the map with room for tools and legend beside the field, pixels. */
const ROOM = '(min-width: 1100px), (max-width: 40rem)';

export function Fold(props: { name: string; class?: string; children: ComponentChildren }) {
	const roomy = useSignal(matchMedia(ROOM).matches);
	const open = useSignal(false);
	useEffect(() => {
		const query = matchMedia(ROOM);
		const changed = () => (roomy.value = query.matches);
		query.addEventListener('change', changed);
		return () => query.removeEventListener('change', changed);
	}, []);
	if (roomy.value) return <>{props.children}</>;
	return (
		<div class={`fold ${props.class ?? ''}`}>
			<Button aria-expanded={open.value} onClick={() => (open.value = !open.value)} text={props.name} />
			{open.value && props.children}
		</div>
	);
}
