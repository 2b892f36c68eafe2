import { createRequire } from 'node:module';
import { Command, CommanderError, Option } from 'commander';
import { CallFault, faultText, InputFault, inOneSystem, Stopped, type UnitSystem } from '../index.ts';
import { intake } from './intake.ts';
import { check, compare, correct, view } from './jobs.ts';
import { sample } from './sample.ts';
import { season } from './season.ts';
import { plain } from './terminal.ts';
import type { Threads } from './threads/threads.ts';

const { version } = createRequire(import.meta.url)('steelyard/package.json') as { version: string };

const strict = ['--strict', 'stop at any row with an error'] as const;

const units = () =>
	new Option('--units <system>', 'units of summaries, report and files').choices(['us', 'metric']).default('us');

/** Options as commander reads them from a command line. */
interface Options {
	units: UnitSystem;
	strict?: boolean;
	replace?: boolean;
}

/** True where the user gave `--units us`; output files then include US units. */
const asked = (o: Options, called: Command): boolean =>
	o.units === 'us' && called.getOptionValueSource('units') === 'cli';

/** Where a command prints, and the threads that it may use. */
export interface Around {
	out(text: string): void;
	err(text: string): void;
	threads?: Threads;
}

function program({ out, err, threads }: Around, faulty: () => void): Command {
	/** Prints text with control characters removed, since parts may come from files. */
	const say = (text: string) => out(`${text.split('\n').map(plain).join('\n')}\n`);
	const beside = threads ? { threads } : {};
	const steelyard = new Command('steelyard')
		.description("Weighs each combine's yield monitor against the grain cart and corrects the map.")
		.version(version)
		.exitOverride()
		.configureOutput({ writeOut: out, writeErr: err });
	const command = (name: string, says: string) => steelyard.command(name).description(says).allowExcessArguments(false);

	command(
		'check',
		'read everything, report what was read and every error, show the match of dumps and logs; write nothing',
	)
		.argument('<folder>', 'field folder')
		.option(...strict)
		.addOption(units())
		.action(async (folder: string, o: Options) => say(await check(folder, o)));
	command('correct', 'the main job: factors, corrected records, map and report')
		.argument('<folder>', 'field folder')
		.requiredOption('--out <dir>', 'folder for the results; written completely or not at all')
		.option(...strict)
		.option('--replace', 'overwrite a folder of results')
		.addOption(units())
		.action(async (folder: string, o: Options & { out: string }, called: Command) =>
			say(await correct(folder, { ...o, bushels: asked(o, called), ...beside })),
		);
	command('compare', 'two or more combines side by side')
		.argument('<folder>', 'field folder')
		.option(...strict)
		.option('--out <dir>', 'also write the comparison as a page and a table')
		.option('--replace', 'overwrite a folder of results')
		.addOption(units())
		.action(async (folder: string, o: Options & { out?: string }) => say(await compare(folder, { ...o, ...beside })));
	command('view', 'correct, then serve the viewer with the field opened, on this machine only')
		.argument('<folder>', 'field folder')
		.option(...strict)
		.option('--port <number>', 'port to try first')
		.addOption(units())
		.action(async (folder: string, o: Options & { port?: string }) => view(folder, { ...o, ...beside }, say));
	command('season', 'correct every field folder under a root')
		.argument('<root>', 'folder that holds field folders')
		.requiredOption('--out <dir>', 'folder for the results of all fields')
		.option('--shard <i/n>', 'take part I of N, I from 1 to N')
		.option('--strict', 'stop a field at any row with an error')
		.addOption(units())
		.action(async (root: string, o: Options & { out: string; shard?: string }, called: Command) => {
			const { text, faults } = await season(root, { ...o, bushels: asked(o, called), ...beside });
			say(text);
			if (faults > 0) faulty();
		});
	command('intake', 'read exports as they come and write field folders')
		.argument('<source...>', 'files, zips and folders, of one field or many')
		.requiredOption('--out <root>', 'folder for the field folders and intake.json; written completely or not at all')
		.option('--crop <name>', 'crop of every field')
		.option('--time-zone <zone>', 'zone of times without an offset, such as America/Chicago')
		.option('--answers <file>', 'answers to questions: { "FILE or header signature": { "about": answer } }')
		.option('--replace', 'overwrite what an earlier intake wrote there')
		.addOption(units())
		.action(
			async (sources: string[], o: Options & { out: string; crop?: string; timeZone?: string; answers?: string }) =>
				say(inOneSystem(await intake(sources, o), o.units)),
		);
	command('sample', 'write the sample field')
		.argument('<dir>', 'folder to write into')
		.action(async (dir: string) => say(await sample(dir)));
	return steelyard;
}

/**
 * Runs a command line.
 *
 * @param args - what follows the command's name
 * @returns exit status: 0 done, 1 input error, 2 command error. No stack trace is printed.
 */
export async function run(args: readonly string[], around: Around): Promise<number> {
	let done = 0;
	try {
		await program(around, () => {
			done = 1;
		}).parseAsync(args, { from: 'user' });
		return done;
	} catch (fault) {
		return status(fault, around);
	}
}

function status(fault: unknown, { err }: Around): number {
	// Commander has already printed its own errors; help and version are not errors.
	if (fault instanceof CommanderError) return fault.exitCode === 0 ? 0 : 2;
	const say = (text: string) => err(`${plain(text)}\n`);
	if (fault instanceof InputFault) {
		for (const one of fault.faults) say(faultText(one));
		return 1;
	}
	if (fault instanceof Stopped) {
		say('stopped; nothing was written');
		return 1;
	}
	say(fault instanceof Error ? fault.message : String(fault));
	if (process.env.STEELYARD_TRACE && fault instanceof Error) err(`${fault.stack}\n`);
	return fault instanceof CallFault ? 2 : 1;
}
