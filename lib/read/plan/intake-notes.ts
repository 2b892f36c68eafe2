import { type Note, remark, type SetAside, wholeFile } from '../../model/index.ts';

/** Number of an intake's remarks that are copied into a result. */
const MOST = 40;

const objectOf = (value: unknown): Record<string, unknown> =>
	typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Record<string, unknown>) : {};

/** Questions left open by an intake without whose answers nothing can be corrected, as faults. */
export function openQuestions(json: unknown): SetAside[] {
	const { questions } = objectOf(json);
	if (!Array.isArray(questions)) return [];
	return questions
		.map(objectOf)
		.filter((q) => q.blocking === true && typeof q.text === 'string')
		.map((q) => {
			const why = `open question (${String(q.about)}): ${q.text}${choicesOf(q.choices)}. Answer it with intake --answers, or set it in field.json and take the question out`;
			return wholeFile(typeof q.file === 'string' ? q.file : 'field.json', '', why);
		});
}

function choicesOf(choices: unknown): string {
	const words = Array.isArray(choices) ? choices.filter((c) => typeof c === 'string') : [];
	return words.length === 0 ? '' : ` (${words.join(', ')})`;
}

/** The intake's remarks on the sources, for the result's notes. */
export function intakeNotes(json: unknown): Note[] {
	const { notes } = objectOf(objectOf(json).intake);
	if (!Array.isArray(notes)) return [];
	return notes
		.filter((text): text is string => typeof text === 'string')
		.slice(0, MOST)
		.map(remark);
}
