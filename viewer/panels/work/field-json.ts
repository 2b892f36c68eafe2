/** field.json with the page's overrides; everything else in it is unchanged. */
import type { Edits } from '../../state/protocol.ts';

export function withEdits(text: string, edits: Edits): string {
	const json = JSON.parse(text) as Record<string, unknown>;
	json.pins = edits.pins;
	if (Object.keys(edits.flags).length > 0) json.flags = edits.flags;
	return `${JSON.stringify(json, null, '\t')}\n`;
}
