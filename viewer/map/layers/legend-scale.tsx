/** The legend of a scale: histogram, colors, and breaks that can be dragged. */
import { computed } from '@preact/signals';
import { useRef } from 'preact/hooks';
import { Button, Select } from '../../inputs.tsx';
import { scene, selection } from '../../state/field.ts';
import { number, shownAs } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { before, breaks, breaksMoved, colorAt, layer, mode, sequential, setBreaks, values } from '../state.ts';
import { chooseRange } from '../tools/select.ts';
import { histogram, moveBreak } from './breaks.ts';
import { css, type SequentialName, sequentialScales } from './color.ts';

const BINS = 48;
const t = strings.map;

/** Margin beyond both ends, so that end handles can be dragged outward. */
export const span = computed<[number, number]>(() => {
	const b = breaks.value;
	const margin = 0.06 * (b.at(-1)! - b[0]!);
	return [b[0]! - margin, b.at(-1)! + margin];
});

const bars = computed(() => {
	const v = values.value;
	if (!v) return null;
	return histogram(before.value && v.before ? v.before : v.after, span.value[0], span.value[1], BINS);
});

export function unitOf(): { unit: string; factor: number; digits: number } {
	const { valueKind } = layer.value;
	const crop = scene.value?.facts.field.crop;
	if (valueKind.kind === 'amount' && crop) return shownAs(valueKind.quantity, crop);
	return { unit: '%', factor: 1, digits: 1 };
}

/** The scale's box on the screen, and the value at a place across it. */
type AtPointer = (e: PointerEvent) => number;

export function Scale() {
	const box = useRef<HTMLDivElement>(null);
	const across = (): AtPointer => {
		// The span from the start of a drag, so that it does not change under the pointer.
		const [low, high] = span.value;
		const rect = box.current!.getBoundingClientRect();
		return (e) => low + ((e.clientX - rect.left) / rect.width) * (high - low);
	};
	return (
		<>
			<div class="histogram" ref={box}>
				<Histogram across={across} />
				{breaks.value.map((_, i) => (
					<Break key={i} index={i} across={across} />
				))}
			</div>
			<div class="row small">
				<label>
					<span class="visually-hidden">{t.breaks}</span>
					<Select
						value={mode.value}
						options={(['smooth', 'equal', 'quantile', 'natural'] as const).map((m) => [m, t.breakModes[m]])}
						set={(m) => (mode.value = m)}
					/>
				</label>
				{layer.value.scale === 'sequential' && !layer.value.error && (
					<label>
						<span class="visually-hidden">{t.colors}</span>
						<Select
							value={sequential.value}
							options={(Object.keys(sequentialScales) as SequentialName[]).map((r) => [r, t.sequentialScales[r]])}
							set={(r) => (sequential.value = r)}
						/>
					</label>
				)}
				{breaksMoved.value && <Button class="plain" onClick={() => setBreaks(null)} text={t.resetBreaks} />}
			</div>
		</>
	);
}

/** Area by value over the colors of the scale; a drag across it selects the range. */
function Histogram({ across }: { across: () => AtPointer }) {
	const [low, high] = span.value;
	const shares = bars.value;
	const most = Math.max(1, ...(shares ?? [1]));
	const colorOf = (share: number) => css(colorAt.value(low + share * (high - low)));
	const pick = (down: PointerEvent) => {
		const value = across();
		const from = value(down);
		const up = (e: PointerEvent) => {
			removeEventListener('pointerup', up);
			const to = value(e);
			if (Math.abs(to - from) < (high - low) / 100) selection.value = null;
			else chooseRange(Math.min(from, to), Math.max(from, to));
		};
		addEventListener('pointerup', up);
	};
	return (
		<svg viewBox={`0 0 ${BINS} 40`} preserveAspectRatio="none" role="img" aria-label={t.histogram} onPointerDown={pick}>
			{shares &&
				Array.from(shares, (n, i) => (
					<rect
						key={i}
						x={i + 0.06}
						width={0.88}
						y={36 - (36 * n) / most}
						height={(36 * n) / most}
						fill={colorOf((i + 0.5) / BINS)}
					/>
				))}
			{Array.from({ length: BINS * 4 }, (_, i) => (
				<rect key={i} x={i / 4} width={0.26} y={36} height={4} fill={colorOf((i + 0.5) / BINS / 4)} />
			))}
		</svg>
	);
}

/** A break between two colors, moved by dragging or by keys. */
function Break({ index, across }: { index: number; across: () => AtPointer }) {
	const [low, high] = span.value;
	const unit = unitOf();
	const b = breaks.value;
	const shown = b[index]! * unit.factor;
	const digits = unit.digits > 1 && b.length > 4 ? 1 : unit.digits > 0 && shown >= 100 ? 0 : unit.digits;
	const drag = (down: PointerEvent) => {
		const handle = down.currentTarget as HTMLElement;
		handle.setPointerCapture(down.pointerId);
		const value = across();
		const move = (e: PointerEvent) => setBreaks(moveBreak(b, index, value(e)));
		const up = () => {
			handle.removeEventListener('pointermove', move);
			handle.removeEventListener('pointerup', up);
		};
		handle.addEventListener('pointermove', move);
		handle.addEventListener('pointerup', up);
	};
	const key = (e: KeyboardEvent) => {
		const step = (high - low) / (e.shiftKey ? 10 : 100);
		const by = { ArrowLeft: -step, ArrowDown: -step, ArrowRight: step, ArrowUp: step }[e.key];
		if (by === undefined) return;
		e.preventDefault();
		setBreaks(moveBreak(b, index, b[index]! + by));
	};
	return (
		<div
			class="break"
			role="slider"
			tabIndex={0}
			aria-label={t.breakOf(index + 1, b.length)}
			aria-valuemin={low * unit.factor}
			aria-valuemax={high * unit.factor}
			aria-valuenow={shown}
			aria-valuetext={`${number(shown, unit.digits)} ${unit.unit}`}
			style={{ left: `${(100 * (b[index]! - low)) / (high - low)}%` }}
			onPointerDown={drag}
			onKeyDown={key}
		>
			<span>{number(shown, digits)}</span>
		</div>
	);
}
