/**
 * One small plot by Observable Plot under the page's policy: its style element is removed (the rules are in
 * style/plot.css), and it is one image with one accessible name. The library is loaded after the map is drawn.
 */
import type * as PlotLibrary from '@observablehq/plot';
import { useSignalEffect } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { hold, type Lit, lit, scene, shining } from '../../state/field.ts';
import { theme, units, view } from '../../state/settings.ts';
import { shines } from './shine.ts';

export type Plot = typeof PlotLibrary;
let library: Promise<Plot> | null = null;

/** Loads the library after the map is drawn, so as not to delay it. */
async function load(): Promise<Plot> {
	if (view.value === 'map' && !document.documentElement.dataset.pictured) {
		await new Promise((done) => document.addEventListener('pictured', done, { once: true }));
	}
	library ??= import('@observablehq/plot');
	return library;
}

/** Left margin for the longest of these labels, pixels. */
export const room = (labels: string[]): number => 12 + 6.6 * Math.max(...labels.map((l) => l.length));

export function PlotBox(props: {
	label: string;
	/** Marks and scales; drawn again when the data, units or theme change. */
	options: (plot: Plot, width: number) => PlotLibrary.PlotOptions;
	/** What each dot of class `dots` represents, in order. */
	dots?: Lit[];
	/** Values that the options depend on. */
	on: unknown;
}) {
	const box = useRef<HTMLDivElement>(null);
	const drawn = useRef<SVGCircleElement[]>([]);
	const look = [theme.value, units.value];
	useEffect(() => {
		let gone = false;
		load().then((plot) => {
			const at = box.current;
			if (gone || !at) return;
			const width = Math.max(240, at.clientWidth);
			const svg = plot.plot({ width, className: 'plot', ...props.options(plot, width) }) as SVGSVGElement;
			for (const style of svg.querySelectorAll('style')) style.remove();
			for (const e of svg.querySelectorAll('[aria-label]')) e.removeAttribute('aria-label');
			svg.setAttribute('role', 'img');
			svg.setAttribute('aria-label', props.label);
			at.replaceChildren(svg);
			drawn.current = [...svg.querySelectorAll<SVGCircleElement>('.dots circle')];
			drawn.current.forEach((circle, i) => {
				const what = props.dots?.[i];
				if (!what) return;
				circle.addEventListener('pointerenter', () => (lit.value = what));
				circle.addEventListener('pointerleave', () => (lit.value = null));
				circle.addEventListener('click', () => hold(what));
			});
			mark();
		});
		return () => {
			gone = true;
		};
	}, [props.on, ...look]);
	const mark = () => {
		const l = shining.value;
		const s = scene.value;
		drawn.current.forEach((circle, i) => {
			const what = props.dots?.[i];
			circle.classList.toggle('lit', !!what && !!s && shines(what, l, s));
		});
	};
	useSignalEffect(mark);
	return <div ref={box} class="plot-box" />;
}
