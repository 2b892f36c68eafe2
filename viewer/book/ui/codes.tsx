/** A few loads from screen to camera: a series of QR codes, shown in turn and read in any order. */
import jsQR from 'jsqr';
import { useEffect, useRef, useState } from 'preact/hooks';
import QRCode from 'qrcode';
import { type Codes, type Entry, fromCodes, takeCode } from '../../../lib/book/index.ts';
import { Button } from '../../inputs.tsx';
import { t } from '../model/words.ts';
import { Care, Pick, Sheet } from './parts.tsx';

/** Milliseconds per code: time for a camera to find it. */
const STANDS_MS = 900;
const QUIET = 4;

export function CodeShow(props: { codes: string[]; dumps: number; choose: (n: number) => void; close: () => void }) {
	const { codes } = props;
	const [at, setAt] = useState(0);
	const [runs, setRuns] = useState(codes.length > 1);
	useEffect(() => {
		if (!runs) return;
		const timer = setInterval(() => setAt((i) => (i + 1) % codes.length), STANDS_MS);
		return () => clearInterval(timer);
	}, [runs, codes.length]);
	return (
		<Sheet title={t.showCodes} close={props.close}>
			<Pick
				label={t.codesFor}
				options={[3, 10, 40].map((n) => [String(n), t.lastDumps(n)] as const)}
				value={String(props.dumps)}
				choose={(n) => props.choose(Number(n))}
			/>
			<p>{t.codesText}</p>
			<Code text={codes[at]!} label={t.codeOf(at + 1, codes.length)} />
			<div class="buttons">
				<b>{t.codeOf(at + 1, codes.length)}</b>
				{codes.length > 1 && (
					<>
						<Button onClick={() => setRuns(!runs)} text={runs ? t.pause : t.run} />
						<Button
							onClick={() => {
								setRuns(false);
								setAt((at + 1) % codes.length);
							}}
							text={t.nextCode}
						/>
					</>
				)}
			</div>
		</Sheet>
	);
}

/** Largest side of a code on the screen, CSS pixels. */
const SIDE = 420;

/** One code, black on white in every theme, with modules of a whole number of pixels, for the camera. */
function Code(props: { text: string; label: string }) {
	const canvas = useRef<HTMLCanvasElement>(null);
	useEffect(() => {
		const { modules } = QRCode.create(props.text, { errorCorrectionLevel: 'M' });
		const n = modules.size + 2 * QUIET;
		const dots = Math.min(SIDE, innerWidth - 64) * devicePixelRatio;
		const dot = Math.max(1, Math.floor(dots / n));
		const c = canvas.current!;
		c.width = c.height = n * dot;
		c.style.width = c.style.height = `${(n * dot) / devicePixelRatio}px`;
		const context = c.getContext('2d')!;
		context.fillStyle = '#ffffff';
		context.fillRect(0, 0, n * dot, n * dot);
		context.fillStyle = '#000000';
		for (let y = 0; y < modules.size; y++)
			for (let x = 0; x < modules.size; x++)
				if (modules.get(y, x)) context.fillRect((x + QUIET) * dot, (y + QUIET) * dot, dot, dot);
	}, [props.text]);
	return <canvas ref={canvas} class="code" role="img" aria-label={props.label} />;
}

/** The text of the code in a picture drawn at this size; null without one. */
function codeIn(canvas: OffscreenCanvas, picture: CanvasImageSource, width: number, height: number): string | null {
	canvas.width = width;
	canvas.height = height;
	const context = canvas.getContext('2d', { willReadFrequently: true })!;
	context.drawImage(picture, 0, 0, width, height);
	return jsQR(context.getImageData(0, 0, width, height).data, width, height)?.data ?? null;
}

export function CodeTake(props: { take: (entries: readonly Entry[]) => Promise<void>; close: () => void }) {
	const video = useRef<HTMLVideoElement>(null);
	const [codes, setCodes] = useState<Codes | null>(null);
	const [fault, setFault] = useState<string | null>(null);
	const held = useRef<Codes | null>(null);

	const seen = async (text: string) => {
		const next = takeCode(held.current, text);
		if (!next || (held.current && next.parts.size === held.current.parts.size && next.series === held.current.series))
			return;
		held.current = next;
		setCodes(next);
		try {
			const entries = fromCodes(next);
			if (entries) await props.take(entries);
		} catch (e) {
			held.current = null;
			setCodes(null);
			setFault(String((e as Error).message));
		}
	};

	useEffect(() => {
		let stream: MediaStream | null = null;
		let timer = 0;
		let over = false;
		const canvas = new OffscreenCanvas(1, 1);
		const look = () => {
			const v = video.current;
			if (!v || v.videoWidth === 0) return;
			const scale = Math.min(1, 800 / Math.max(v.videoWidth, v.videoHeight));
			const found = codeIn(canvas, v, Math.round(v.videoWidth * scale), Math.round(v.videoHeight * scale));
			if (found !== null) void seen(found);
		};
		navigator.mediaDevices
			?.getUserMedia({ video: { facingMode: 'environment' } })
			.then((s) => {
				if (over) {
					for (const track of s.getTracks()) track.stop();
					return;
				}
				stream = s;
				video.current!.srcObject = s;
				void video.current!.play();
				timer = window.setInterval(look, 180);
			})
			.catch((e) => setFault(t.noCamera(String((e as Error).message))));
		return () => {
			over = true;
			clearInterval(timer);
			for (const track of stream?.getTracks() ?? []) track.stop();
		};
	}, []);

	return (
		<Sheet title={t.readCodes} close={props.close}>
			<p>{t.readCodesText}</p>
			{fault && <Care bad>{fault}</Care>}
			<video ref={video} class="camera" muted playsInline aria-label={t.camera} />
			<p role="status">{codes ? t.codesSoFar(codes.parts.size, codes.of) : t.noCodeYet}</p>
			<label class="button file">
				{t.codePictures}
				<input
					type="file"
					accept="image/*"
					multiple
					onChange={async (e) => {
						for (const file of e.currentTarget.files ?? []) {
							const picture = await createImageBitmap(file);
							const found = codeIn(new OffscreenCanvas(1, 1), picture, picture.width, picture.height);
							if (found !== null) await seen(found);
						}
					}}
				/>
			</label>
		</Sheet>
	);
}
