/** The library's doors, read from what the build declares: what API Extractor finds, and the model that pages are made of. */
import { existsSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Extractor, ExtractorConfig } from '@microsoft/api-extractor';

const root = fileURLToPath(new URL('../../', import.meta.url));
const built = join(root, 'dist', 'lib');

export interface Finding {
	what: string;
	where: string;
	text: string;
}

/** Writes the model of every door to `modelFile`; what is wrong with a docstring or an export comes back as findings. */
export function describeDoors(modelFile: string): Finding[] {
	if (!existsSync(join(built, 'index.d.ts'))) throw new Error('dist/lib is missing: npm run build:lib makes it.');
	const rooms = readdirSync(built).filter((name) => name !== 'commands' && existsSync(join(built, name, 'index.d.ts')));
	const entry = join(built, 'doors.d.ts');
	writeFileSync(entry, rooms.map((room) => `export * as ${room} from './${room}/index.js';\n`).join(''));
	const config = ExtractorConfig.prepare({
		configObject: {
			projectFolder: root,
			mainEntryPointFilePath: entry,
			compiler: { tsconfigFilePath: join(root, 'tsconfig.lib.json'), skipLibCheck: true },
			apiReport: { enabled: false },
			docModel: { enabled: true, apiJsonFilePath: modelFile },
			dtsRollup: { enabled: false },
			tsdocMetadata: { enabled: false },
		},
		configObjectFullPath: undefined,
		packageJsonFullPath: join(root, 'package.json'),
	});
	const findings: Finding[] = [];
	Extractor.invoke(config, {
		localBuild: true,
		messageCallback: (message) => {
			message.handled = true;
			const what = message.messageId as string;
			// Everything behind a door is public, without release tags; a type that only another type holds stays inside.
			if (['ae-missing-release-tag', 'ae-forgotten-export'].includes(what) || what.startsWith('console-')) return;
			const where = (message.sourceFilePath ?? '').replace(built, 'lib').replaceAll('\\', '/');
			findings.push({ what, where: `${where}:${message.sourceFileLine ?? ''}`, text: message.text });
		},
	});
	rmSync(entry);
	return findings;
}
