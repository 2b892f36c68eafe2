/**
 * Normalized name of a file inside the folder ("./a//b.csv" is "a/b.csv"), or null for a name outside the folder: an
 * absolute one, one with `..`, a drive, a backslash.
 */
export function nameInside(name: string): string | null {
	if (name.startsWith('/') || name.includes('\\') || name.includes('\0') || /^[A-Za-z]:/.test(name)) return null;
	const parts = name.split('/').filter((part) => part !== '' && part !== '.');
	return parts.length === 0 || parts.includes('..') ? null : parts.join('/');
}
