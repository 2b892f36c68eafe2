/** Other threads of this process, each a worker that starts from the same bundle as the command. */
import { availableParallelism } from 'node:os';
import { parentPort, Worker } from 'node:worker_threads';
import { type Beside, inTurn, TASKS, type Tasks } from '../../index.ts';
import { type Parts, takeParts, together } from './parts.ts';
import { share, transferable } from './shared-columns.ts';
import { WORK, type Work } from './work.ts';

/** More threads than this only wait for each other. */
const MOST = 3;
/** Room for values of short life, twice the usual: fewer of them are copied before they are done with. */
const YOUNG_MB = 96;

/** The tasks' names, by which other threads know them. */
const NAMES = new Map(Object.entries(TASKS).map(([name, work]) => [work as unknown, name as keyof Tasks]));

interface Order {
	task: keyof Work;
	input: unknown;
	tell(early: unknown): void;
	done(result: unknown): void;
	failed(fault: unknown): void;
}

/** Does tasks on other threads, one at a time on each. Threads are started when there is work for them, and live until `end`. */
export class Threads implements Beside {
	private readonly idle: Worker[] = [];
	private readonly busy = new Map<Worker, Order>();
	private readonly waiting: Order[] = [];
	private readonly started = new Set<Worker>();

	/**
	 * @param bundle - the command's own file, which serves tasks when it is started as a worker (`serve`)
	 * @param most - threads beside this one; by default, as many as the machine has processors left
	 */
	constructor(
		private readonly bundle: URL,
		readonly most = Math.min(MOST, availableParallelism() - 1),
	) {}

	/** Starts a thread ahead of its first task, since loading the program takes a while. */
	warm(): void {
		if (this.most > 0 && this.idle.length + this.busy.size === 0) this.idle.push(this.start());
	}

	/** A task of a run; undefined where it could not be done here. */
	async run<K extends keyof Tasks>(
		task: K,
		input: Parameters<Tasks[K]>[0],
		tell?: Parameters<Tasks[K]>[1],
	): Promise<Awaited<ReturnType<Tasks[K]>> | undefined> {
		if (this.most < 1) return undefined;
		return (this.order(task, input, tell) as Promise<Awaited<ReturnType<Tasks[K]>>>).catch(() => undefined);
	}

	/** Parts of some work, on this thread and another that has nothing to do. */
	each<I, O>(work: (input: I) => O, inputs: readonly I[], report?: (share: number) => void): O[] {
		const task = NAMES.get(work);
		const worker = this.idle.at(-1);
		if (task === undefined || worker === undefined || inputs.length < 2) return inTurn(work, inputs, report);
		return together(worker, task, work, inputs, report);
	}

	/** A task on the first thread that is free. Long columns of the input move into memory that all threads share. */
	order<K extends keyof Work>(
		task: K,
		input: Parameters<Work[K]>[0],
		tell: Parameters<Work[K]>[1] = () => {},
	): Promise<Awaited<ReturnType<Work[K]>>> {
		share(input);
		return new Promise((done, failed) => {
			this.waiting.push({ task, input, tell: tell as Order['tell'], done: done as Order['done'], failed });
			this.next();
		});
	}

	private next(): void {
		while (this.waiting.length > 0 && (this.idle.length > 0 || this.busy.size < this.most)) {
			const order = this.waiting.shift()!;
			const worker = this.idle.pop() ?? this.start();
			this.busy.set(worker, order);
			worker.postMessage({ task: order.task, input: order.input });
		}
	}

	private start(): Worker {
		const worker = new Worker(this.bundle, { resourceLimits: { maxYoungGenerationSizeMb: YOUNG_MB } });
		this.started.add(worker);
		worker.on('message', ({ early, result, fault }: { early?: unknown; result?: unknown; fault?: unknown }) => {
			if (early !== undefined) return this.busy.get(worker)?.tell(early);
			const order = this.free(worker);
			this.idle.push(worker);
			if (fault === undefined) order?.done(result);
			else order?.failed(fault);
			this.next();
		});
		// A thread that ran out of memory, say.
		worker.on('error', (fault) => this.free(worker)?.failed(fault));
		worker.on('exit', () => {
			this.started.delete(worker);
			const at = this.idle.indexOf(worker);
			if (at >= 0) this.idle.splice(at, 1);
			this.free(worker)?.failed(new Error('a thread ended early'));
			this.next();
		});
		return worker;
	}

	/** Ends all threads; until then they keep the process alive. */
	async end(): Promise<void> {
		this.waiting.length = 0;
		await Promise.all([...this.started].map((worker) => worker.terminate()));
	}

	private free(worker: Worker): Order | undefined {
		const order = this.busy.get(worker);
		this.busy.delete(worker);
		return order;
	}
}

/** The other side: what a thread does. */
export function serve(): void {
	const tell = (early: unknown) => {
		// The task goes on with it.
		share(early);
		parentPort?.postMessage({ early });
	};
	parentPort?.on('message', async (order: { task: keyof Work; input: never } | Parts) => {
		if ('inputs' in order) return takeParts(order);
		const { task, input } = order;
		try {
			const result = await WORK[task](input, tell);
			parentPort?.postMessage({ result }, transferable(result));
		} catch (fault) {
			parentPort?.postMessage({ fault });
		}
	});
}
