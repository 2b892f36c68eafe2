/** Live weight from a scale indicator through Web Serial, in browsers that have it: mostly on laptops. */
import { signal } from '@preact/signals';
import { addReading, LineFault, lineReader, noReading, type ScaleState } from '../../../lib/book/index.ts';
import { device, now_s, set } from './state.ts';

interface SerialPortLike {
	open(options: { baudRate: number }): Promise<void>;
	close(): Promise<void>;
	readable: ReadableStream<Uint8Array> | null;
}
interface SerialLike {
	getPorts?(): Promise<SerialPortLike[]>;
	requestPort(): Promise<SerialPortLike>;
}

const serial = (): SerialLike | undefined => (navigator as unknown as { serial?: SerialLike }).serial;

/** Whether this browser has Web Serial. */
export const hasSerial = (): boolean => serial() !== undefined;

export interface Live {
	state: 'off' | 'reading' | 'lost';
	kg: number | null;
	still: boolean;
	/** The last line that did not match the pattern, unchanged. */
	strange: string | null;
	why: string | null;
}

const OFF: Live = { state: 'off', kg: null, still: false, strange: null, why: null };
export const live = signal<Live>(OFF);
let port: SerialPortLike | null = null;
let reader: ReadableStreamDefaultReader<Uint8Array> | null = null;

/** Requests a port and reads until stopped or the cable is pulled. */
export async function connect(): Promise<void> {
	try {
		await readFrom(await serial()!.requestPort());
	} catch (e) {
		live.value = { ...OFF, state: 'lost', why: String((e as Error).message ?? e) };
	}
}

/** Reconnects a cable that was in use before the page was closed: the browser remembers the permission. */
export async function reconnect(): Promise<void> {
	if (!device.value.cable || live.value.state === 'reading') return;
	const ports =
		(await serial()
			?.getPorts?.()
			.catch(() => [])) ?? [];
	if (ports[0]) await readFrom(ports[0]);
	else live.value = { ...OFF, state: 'lost' };
}

async function readFrom(found: SerialPortLike): Promise<void> {
	try {
		port = found;
		const line = device.value.line;
		const read = lineReader({
			pattern: line.pattern,
			stable: line.stable.split(/\s+/),
			moving: line.moving.split(/\s+/),
			unit: line.unit,
		});
		await port.open({ baudRate: line.baud });
		live.value = { ...OFF, state: 'reading' };
		set('cable', true);
		reader = port.readable!.getReader();
		await follow(reader, read);
		if (live.value.state === 'reading') live.value = { ...OFF, state: 'lost' };
	} catch (e) {
		live.value = { ...OFF, state: 'lost', why: String((e as Error).message ?? e) };
	}
}

export async function disconnect(): Promise<void> {
	set('cable', false);
	live.value = OFF;
	await reader?.cancel().catch(() => {});
	reader = null;
	await port?.close().catch(() => {});
	port = null;
	live.value = OFF;
}

/** No indicator sends longer lines: more is noise, from a wrong baud rate for example. */
const LONGEST = 200;

async function follow(
	from: ReadableStreamDefaultReader<Uint8Array>,
	read: ReturnType<typeof lineReader>,
): Promise<void> {
	let text = '';
	let state: ScaleState = noReading;
	for (;;) {
		const { value, done } = await from.read();
		if (done) return;
		for (const byte of value) text += String.fromCharCode(byte & 0x7f);
		const lines = text.split(/[\r\n]+/);
		text = lines.pop()!.slice(-LONGEST);
		for (const line of lines) {
			if (line.trim() === '') continue;
			try {
				const r = read(line);
				state = addReading(state, { t_s: now_s(), kg: r.kg, stable: r.stable });
				live.value = { ...live.value, kg: r.kg, still: state.still, strange: null };
			} catch (e) {
				if (!(e instanceof LineFault)) throw e;
				live.value = { ...live.value, still: false, strange: line.trim().slice(0, 60) };
			}
		}
	}
}
