/** The swipe line between yields as recorded and corrected. */
import { strings } from '../../strings/index.ts';
import { swipe } from '../state.ts';

export function SwipeLine() {
	if (swipe.value === null) return null;
	const drag = (down: PointerEvent) => {
		const handle = down.currentTarget as HTMLElement;
		handle.setPointerCapture(down.pointerId);
		const rect = handle.parentElement!.getBoundingClientRect();
		const move = (e: PointerEvent) => {
			swipe.value = Math.min(1, Math.max(0, (e.clientX - rect.left) / rect.width));
		};
		const up = () => {
			handle.removeEventListener('pointermove', move);
			handle.removeEventListener('pointerup', up);
		};
		handle.addEventListener('pointermove', move);
		handle.addEventListener('pointerup', up);
	};
	const key = (e: KeyboardEvent) => {
		const by = { ArrowLeft: -0.02, ArrowRight: 0.02 }[e.key];
		if (by === undefined) return;
		e.preventDefault();
		swipe.value = Math.min(1, Math.max(0, swipe.value! + by));
	};
	return (
		<div
			class="swipe"
			role="slider"
			tabIndex={0}
			aria-label={strings.map.swipeLine}
			aria-valuemin={0}
			aria-valuemax={100}
			aria-valuenow={Math.round(100 * swipe.value)}
			style={{ left: `${100 * swipe.value}%` }}
			onPointerDown={drag}
			onKeyDown={key}
		>
			<span>{strings.map.asRecorded}</span>
			<span>{strings.map.corrected}</span>
		</div>
	);
}
