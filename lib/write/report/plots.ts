import { ticks } from 'd3-array';
import { html, type Markup } from './html.ts';
import type { Say } from './say.ts';

/** A dot with an optional interval. `kind` gives the mark: one shape per combine, hollow if not used. */
export interface Dot {
	x: number;
	y: number;
	interval?: [number, number];
	kind: number;
	hollow?: boolean;
	label?: string;
}

const WIDE = 860;
const round = (v: number): number => Math.round(v * 100) / 100;

/** Marks differ in shape, so that they are distinct in black and white. */
export function mark(kind: number, x: number, y: number, hollow: boolean, size = 4): Markup {
	const paint = hollow ? { fill: '#ffffff', line: 1.3 } : { fill: '#231f19', line: 1 };
	const d = [
		`M${round(x - size)} ${round(y)}a${size} ${size} 0 1 0 ${2 * size} 0a${size} ${size} 0 1 0 ${-2 * size} 0`,
		`M${round(x - size)} ${round(y - size)}h${2 * size}v${2 * size}h${-2 * size}z`,
		`M${round(x)} ${round(y - size * 1.25)}l${round(size * 1.2)} ${round(size * 2.1)}h${round(-2.4 * size)}z`,
		`M${round(x)} ${round(y - size * 1.35)}l${round(size * 1.35)} ${round(size * 1.35)}l${round(-size * 1.35)} ${round(size * 1.35)}l${round(-size * 1.35)} ${round(-size * 1.35)}z`,
	][kind % 4]!;
	return html`<path d="${d}" fill="${paint.fill}" stroke="#231f19" stroke-width="${paint.line}"/>`;
}

/** Dots in rows by time with a line at zero, and a band per kind for its estimate. */
export function dotPlot(input: {
	dots: Dot[];
	/** Level and 95 % interval of each kind. */
	levels: { kind: number; y: number; interval: [number, number]; from: number; to: number }[];
	label: string;
	yTitle: string;
	xMarks: { x: number; text: string }[];
	say: Say;
	high?: number;
}): Markup {
	const { dots, levels, say, high = 210 } = input;
	const left = 44;
	const bottom = high - 22;
	const top = 18;
	const ys = [...dots.map((d) => d.y), ...levels.flatMap((l) => [l.y, ...l.interval]), 0].filter(Number.isFinite);
	const xs = [...dots.map((d) => d.x), ...levels.flatMap((l) => [l.from, l.to])].filter(Number.isFinite);
	let [low, top_] = [Math.min(...ys), Math.max(...ys)];
	if (!(top_ > low)) [low, top_] = [low - 1, top_ + 1];
	const pad = 0.07 * (top_ - low);
	const y = (v: number) => bottom - ((v - low + pad) / (top_ - low + 2 * pad)) * (bottom - top);
	const x0 = Math.min(...xs);
	const x1 = Math.max(...xs);
	const x = (v: number) => left + 14 + ((v - x0) / (x1 - x0 || 1)) * (WIDE - left - 24);
	const yTicks = ticks(low, top_, 5);
	const digits = yTicks.length > 1 && yTicks[1]! - yTicks[0]! < 1 ? 1 : 0;
	return html`<svg viewBox="0 0 ${WIDE} ${high}" role="img" aria-label="${input.label}">
<text x="0" y="10" font-size="11.5" class="s">${input.yTitle}</text>
${yTicks.map(
	(
		t,
	) => html`<path d="M${left} ${round(y(t))}H${WIDE}" stroke="${t === 0 ? '#231f19' : '#d9d0be'}" stroke-width="${t === 0 ? 1 : 0.7}"/>
<text x="${left - 7}" y="${round(y(t) + 4)}" font-size="11.5" text-anchor="end">${say.signed(t, digits)}</text>`,
)}
${levels.map(
	(
		l,
	) => html`<rect x="${round(x(l.from))}" y="${round(Math.min(y(l.interval[0]), y(l.interval[1])))}" width="${round(Math.max(1, x(l.to) - x(l.from)))}" height="${round(Math.abs(y(l.interval[0]) - y(l.interval[1])))}" fill="#8b8170" fill-opacity="0.22"/>
<path d="M${round(x(l.from))} ${round(y(l.y))}H${round(x(l.to))}" stroke="#231f19" stroke-width="0.9" stroke-dasharray="${l.kind === 0 ? 'none' : l.kind === 1 ? '5 3' : '2 2'}"/>`,
)}
${dots.map((d) => mark(d.kind, x(d.x), y(d.y), d.hollow ?? false))}
${dots.filter((d) => d.label).map((d) => html`<text x="${round(x(d.x) + 7)}" y="${round(y(d.y) + 4)}" font-size="11">${d.label}</text>`)}
${input.xMarks.map((m) => html`<text x="${round(x(m.x))}" y="${high - 4}" font-size="11.5" class="s" text-anchor="${x(m.x) > WIDE - 60 ? 'end' : 'start'}">${m.text}</text>`)}
</svg>`;
}

/** Estimates in rows: dot and 95 % interval (thick), with a wider one behind it (thin). */
export function intervalPlot(
	rows: {
		text: string;
		kind: number;
		value: number;
		interval: [number, number];
		wide?: [number, number];
		note: string;
	}[],
	options: { label: string; unit: string; digits: number; zero?: boolean; say: Say },
): Markup {
	const { say } = options;
	const left = 150;
	const right = 150;
	const line = 30;
	const high = 12 + line * rows.length + 22;
	const ends = rows.flatMap((r) => [...r.interval, ...(r.wide ?? r.interval)]).filter(Number.isFinite);
	if (options.zero) ends.push(0);
	let [low, top] = [Math.min(...ends), Math.max(...ends)];
	if (!(top > low)) [low, top] = [low - 1, top + 1];
	const pad = 0.05 * (top - low);
	const x = (v: number) => left + ((v - low + pad) / (top - low + 2 * pad)) * (WIDE - left - right);
	const marks = ticks(low, top, 6);
	const bottom = 8 + line * rows.length;
	return html`<svg viewBox="0 0 ${WIDE} ${high}" role="img" aria-label="${options.label}">
${marks.map(
	(
		t,
	) => html`<path d="M${round(x(t))} 2V${bottom}" stroke="${t === 0 ? '#231f19' : '#d9d0be'}" stroke-width="${t === 0 ? 1 : 0.7}"/>
<text x="${round(x(t))}" y="${bottom + 15}" font-size="11.5" text-anchor="middle">${options.zero ? say.signed(t, options.digits) : say.number(t, options.digits)}</text>`,
)}
<text x="${WIDE - right + 14}" y="${bottom + 15}" font-size="11.5" class="s">${options.unit}</text>
${rows.map((r, k) => {
	const y = 8 + line * (k + 0.5);
	return html`<text x="0" y="${round(y + 4)}" font-size="13">${r.text}</text>
${r.wide ? html`<path d="M${round(x(r.wide[0]))} ${round(y)}H${round(x(r.wide[1]))}" stroke="#231f19" stroke-width="0.9"/>` : null}
<path d="M${round(x(r.interval[0]))} ${round(y)}H${round(x(r.interval[1]))}" stroke="#8b8170" stroke-width="5"/>
${mark(r.kind, x(r.value), y, false, 4.2)}
<text x="${WIDE}" y="${round(y + 4)}" font-size="13" text-anchor="end">${r.note}</text>`;
})}
</svg>`;
}

/** A share of 0…1 as a short bar, for a table's cell. */
export function bar(share: number): Markup {
	return html`<svg viewBox="0 0 100 8" class="bar" width="100" height="8" aria-hidden="true"><rect x="0" y="1" width="${round(100 * Math.min(1, Math.max(0, share)))}" height="6" fill="#5d5548"/></svg>`;
}
