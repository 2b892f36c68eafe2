/** A long list drawn by window: only the visible rows are rendered, the rest is empty space. All rows have the same height. */
import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';

/** Rows rendered beyond the edge of the screen on either side. */
const SPARE = 12;
/** Shorter lists are rendered completely. */
const SHORT = 80;

/** Which rows of `count` to render, given the element whose top is the first row's. */
function useSpan(count: number, height: number) {
	const head = useRef<HTMLElement | null>(null);
	const span = useSignal<readonly [number, number]>([0, 40]);
	useLayoutEffect(() => {
		if (count <= SHORT) return;
		const scroller = head.current?.closest('.inside');
		if (!scroller) return;
		const look = () => {
			const top = head.current!.getBoundingClientRect().top - scroller.getBoundingClientRect().top;
			const from = Math.max(0, Math.floor(-top / height) - SPARE);
			const to = Math.min(count, Math.ceil((scroller.clientHeight - top) / height) + SPARE);
			if (from !== span.value[0] || to !== span.value[1]) span.value = [from, Math.max(to, from)];
		};
		look();
		scroller.addEventListener('scroll', look, { passive: true });
		addEventListener('resize', look);
		return () => {
			scroller.removeEventListener('scroll', look);
			removeEventListener('resize', look);
		};
	}, [count, height]);
	const [from, to] = count <= SHORT ? [0, count] : [Math.min(span.value[0], count), Math.min(span.value[1], count)];
	return { head, from, to };
}

interface Listed<T> {
	rows: readonly T[];
	height: number;
	draw: (row: T) => ComponentChildren;
}

/** Rows of a table's body. `columns` is how many cells a row has. */
export function Rows<T>(props: Listed<T> & { columns: number }) {
	const { head, from, to } = useSpan(props.rows.length, props.height);
	return <tbody ref={head as never}>{drawn(props, from, to, props.columns)}</tbody>;
}

/** Items of a list. */
export function Items<T>(props: Listed<T> & { class: string }) {
	const { head, from, to } = useSpan(props.rows.length, props.height);
	return (
		<ul ref={head as never} class={props.class}>
			{drawn(props, from, to, null)}
		</ul>
	);
}

/** The rows of a span, with the room of those before and after it. */
function drawn<T>({ rows, height, draw }: Listed<T>, from: number, to: number, columns: number | null) {
	const rest = rows.length - to;
	return (
		<>
			{from > 0 && <Room px={from * height} columns={columns} />}
			{rows.slice(from, to).map(draw)}
			{rest > 0 && <Room px={rest * height} columns={columns} />}
		</>
	);
}

/** The height of rows not rendered. Set by script: the page's policy forbids style attributes in HTML. */
function Room(props: { px: number; columns: number | null }) {
	const cell = useRef<HTMLElement | null>(null);
	useLayoutEffect(() => {
		if (cell.current) cell.current.style.height = `${props.px}px`;
	});
	if (props.columns === null) return <li ref={cell as never} class="room" />;
	return (
		<tr class="room">
			<td ref={cell as never} colSpan={props.columns} />
		</tr>
	);
}
