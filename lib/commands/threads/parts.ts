/** Equal parts of some work, taken by this thread and another as each is free for the next. */
import { MessageChannel, type MessagePort, receiveMessageOnPort, type Worker } from 'node:worker_threads';
import { share, transferable } from './shared-columns.ts';
import { WORK, type Work } from './work.ts';

/** Another thread is given this long for a part, and so many times what the longest part took here, ms. */
const PATIENCE_MS = 5000;
const PATIENCE_TIMES = 5;

/** What the other thread gets. */
export interface Parts {
	task: keyof Work;
	inputs: readonly unknown[];
	/** How many parts are taken by either thread, and how many the other has done. */
	counts: Int32Array;
	results: MessagePort;
}

const TAKEN = 0;
const DONE = 1;

/**
 * Does all parts, some of them on the other thread. This thread blocks until they are done, so that its callers need not wait
 * in turn; a part that fails there or does not come in time is done here.
 */
export function together<I, O>(
	worker: Worker,
	task: keyof Work,
	work: (input: I) => O,
	inputs: readonly I[],
	report: (share: number) => void = () => {},
	patience_ms = PATIENCE_MS,
): O[] {
	const moved = new Map();
	for (const input of inputs) share(input, moved);
	const counts = new Int32Array(new SharedArrayBuffer(8));
	const { port1, port2 } = new MessageChannel();
	const parts: Parts = { task, inputs, counts, results: port2 };
	worker.postMessage(parts, [port2]);
	const results = new Map<number, O>();
	let longest_ms = 0;
	let own = 0;
	for (let part = Atomics.add(counts, TAKEN, 1); part < inputs.length; part = Atomics.add(counts, TAKEN, 1)) {
		const from_ms = performance.now();
		results.set(part, work(inputs[part]!));
		longest_ms = Math.max(longest_ms, performance.now() - from_ms);
		own++;
		report(Math.min(1, Atomics.load(counts, TAKEN) / inputs.length));
	}
	for (let open = inputs.length - own; open > 0; ) {
		const done = Atomics.load(counts, DONE);
		const received = receiveMessageOnPort(port1)?.message as { part: number; result?: { value: O } } | undefined;
		if (received !== undefined) {
			if (received.result !== undefined) results.set(received.part, received.result.value);
			open--;
		} else if (Atomics.wait(counts, DONE, done, patience_ms + PATIENCE_TIMES * longest_ms) === 'timed-out') break;
	}
	port1.close();
	return inputs.map((input, part) => (results.has(part) ? (results.get(part) as O) : work(input)));
}

/** The other side. */
export function takeParts({ task, inputs, counts, results }: Parts): void {
	const work = WORK[task] as (input: unknown) => unknown;
	for (let part = Atomics.add(counts, TAKEN, 1); part < inputs.length; part = Atomics.add(counts, TAKEN, 1)) {
		try {
			const value = work(inputs[part]);
			results.postMessage({ part, result: { value } }, transferable(value));
		} catch {
			results.postMessage({ part });
		}
		Atomics.add(counts, DONE, 1);
		Atomics.notify(counts, DONE);
	}
	results.close();
}
