import type { RawBoundary, RawSet } from '../../lib/formats/index.ts';
import { readText } from '../../lib/formats/index.ts';
import { type Intake, type IntakeOptions, understand } from '../../lib/intake/index.ts';

/** What an intake makes of texts given as bytes by name. */
export function intakeOf(
	files: Record<string, Uint8Array>,
	options: IntakeOptions = {},
	boundaries: RawBoundary[] = [],
): Intake {
	const raw: RawSet = {
		files: Object.entries(files).map(([file, b]) => ({ file, bytes: b.length, sha256: '', kind: 'text', why: null })),
		tables: Object.entries(files).map(([file, b]) => readText(file, b)),
		boundaries,
	};
	return understand(raw, options);
}

/** A written file of a field as rows by column. */
export async function csvOf(intake: Intake, field: number, name: string): Promise<Record<string, string>[]> {
	const file = intake.fields[field]?.files.find((f) => f.name === name);
	if (!file) throw new Error(`no ${name} in ${intake.fields[field]?.files.map((f) => f.name).join(', ')}`);
	const parts: Uint8Array[] = [];
	for await (const chunk of file.chunks()) parts.push(chunk);
	const text = Buffer.concat(parts).toString('utf8').trimEnd();
	const [head = '', ...lines] = text.split('\n');
	const names = head.split(',');
	return lines.map((l) => Object.fromEntries(l.split(',').map((cell, k) => [names[k] ?? `${k}`, cell])));
}
