import { seen } from './state.ts';
import type { SeenField } from './understood.ts';

/** Questions about columns, whose answers also apply to next year's file: saved by the signature of the header. */
const LASTING = /^(unit of|basis of yield|date order|position|time: seconds per record|combine: header width|as )/;

/** Where an answer is saved: with the field, the file, or every file with the same columns. */
export function placeOf(question: { about: string; file: string | null }, field: SeenField | null): string {
	const { about, file } = question;
	if (about === 'crop' || file === null) return field?.folder ?? file ?? '*';
	if (!LASTING.test(about)) return file;
	return seen.value?.sources.find((s) => s.file === file)?.signature ?? file;
}
