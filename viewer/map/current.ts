import type { Canvas } from './canvas.tsx';

let canvas: Canvas | null = null;

/** The canvas on the page, for the picture to save; null while the map is not shown. */
export const canvasNow = (): Canvas | null => canvas;

export function setCanvas(now: Canvas | null): void {
	canvas = now;
}
