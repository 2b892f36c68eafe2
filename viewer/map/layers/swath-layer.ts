/**
 * Quads on the map, one color each: the ground that each record cut, or the cells of the grid.
 *
 * Corners are uploaded to the graphics card once. The vertex number gives the record (four per record), whose value comes
 * from a float texture and its color from a lookup texture. So another layer uploads one texture, another color scale
 * 4 kB, and before / after nothing.
 */
import type { CustomLayerInterface, CustomRenderMethodInput, Map as MapLibre } from 'maplibre-gl';
import { EARTH_M, LUT, link, WIDTH } from './swath-shaders.ts';

/** Bits of the state column. */
export const LIT = 1;

export const CHOSEN = 2;

export interface Quads {
	/** Four corners per record, x, y; NaN where none. */
	corners_m: Float32Array;
	/** Quads to draw while the map is still, and thinned ones for while it moves. */
	full: Uint32Array;
	thin: Uint32Array;
}

type TextureName = 'after' | 'before' | 'time' | 'state' | 'lut';

export class SwathLayer implements CustomLayerInterface {
	readonly type = 'custom';
	readonly renderingMode = '2d';
	/** True while the map moves: draw the thinned quads. */
	moving = false;
	private map: MapLibre | null = null;
	private program: WebGLProgram | null = null;
	private vao: WebGLVertexArrayObject | null = null;
	private buffers: Record<'corners' | 'full' | 'thin', WebGLBuffer | null> = { corners: null, full: null, thin: null };
	private textures: Partial<Record<TextureName, WebGLTexture>> = {};
	private uniforms: Record<string, WebGLUniformLocation | null> = {};
	private range: [number, number] = [0, 1];
	private until = Number.MAX_VALUE;
	private split = -1;
	private mask = 0;
	private quads: Quads = { corners_m: new Float32Array(), full: new Uint32Array(), thin: new Uint32Array() };
	/** Uploads waiting for the context, by texture. */
	private pending = new Map<TextureName, Float32Array | Uint8Array>();
	private geometryPending = false;
	private readonly origin: [number, number];
	private readonly scale: number;

	constructor(
		readonly id: string,
		origin: { lon_deg: number; lat_deg: number },
	) {
		this.origin = [
			(180 + origin.lon_deg) / 360,
			(180 - (180 / Math.PI) * Math.log(Math.tan(Math.PI / 4 + (origin.lat_deg * Math.PI) / 360))) / 360,
		];
		this.scale = 1 / (EARTH_M * Math.cos((origin.lat_deg * Math.PI) / 180));
		this.pending.set('time', new Float32Array(1).fill(-1));
		this.pending.set('state', new Uint8Array(1));
	}

	setQuads(quads: Quads): void {
		this.quads = quads;
		this.geometryPending = true;
		this.map?.triggerRepaint();
	}

	/** Values after (and before) correction, one per record; NaN is not drawn. */
	setValues(after: Float32Array, before: Float32Array | null): void {
		this.set('after', after);
		this.set('before', before ?? after);
	}

	/** Seconds after the start, one per record, and the time up to which to draw. */
	setTimes(time_s: Float32Array): void {
		this.set('time', time_s);
	}

	setUntil(time_s: number | null): void {
		this.until = time_s ?? Number.MAX_VALUE;
		this.map?.triggerRepaint();
	}

	/** Bits LIT and CHOSEN, one byte per record; records without a bit of `mask` are drawn faintly. */
	setState(state: Uint8Array, mask: number): void {
		this.mask = mask;
		this.set('state', state);
	}

	/** LUT texels of premultiplied RGBA over [low, high]. */
	setColors(lut: Uint8Array, range: [number, number]): void {
		this.range = range;
		this.set('lut', lut);
	}

	/** Left of it (CSS pixels) is as recorded: −1 = all after, Infinity = all before. */
	setSplit(x: number): void {
		this.split = x;
		this.map?.triggerRepaint();
	}

	private set(name: TextureName, data: Float32Array | Uint8Array): void {
		this.pending.set(name, data);
		this.map?.triggerRepaint();
	}

	onAdd(map: MapLibre, gl: WebGL2RenderingContext): void {
		this.map = map;
		this.program = link(gl);
		for (const name of [
			'matrix',
			'after',
			'before',
			'time',
			'state',
			'lut',
			'range',
			'until',
			'mask',
			'faint',
			'split',
		]) {
			this.uniforms[name] = gl.getUniformLocation(this.program, `u_${name}`);
		}
		this.vao = gl.createVertexArray();
		for (const name of ['corners', 'full', 'thin'] as const) this.buffers[name] = gl.createBuffer();
	}

	onRemove(_map: MapLibre, gl: WebGL2RenderingContext): void {
		gl.deleteProgram(this.program);
		gl.deleteVertexArray(this.vao);
		for (const buffer of Object.values(this.buffers)) gl.deleteBuffer(buffer);
		for (const texture of Object.values(this.textures)) gl.deleteTexture(texture);
		this.map = null;
		this.textures = {};
	}

	render(gl: WebGL2RenderingContext, args: CustomRenderMethodInput): void {
		if (this.geometryPending) this.uploadQuads(gl);
		for (const [name, data] of this.pending) this.upload(gl, name, data);
		this.pending.clear();
		const index = this.moving ? 'thin' : 'full';
		const count = this.quads[index].length;
		if (count === 0 || !this.textures.after || !this.textures.lut) return;
		gl.useProgram(this.program);
		gl.bindVertexArray(this.vao);
		gl.uniformMatrix4fv(this.uniforms.matrix!, false, this.matrix(args.defaultProjectionData.mainMatrix));
		(['after', 'before', 'time', 'state', 'lut'] as const).forEach((name, unit) => {
			gl.activeTexture(gl.TEXTURE0 + unit);
			gl.bindTexture(gl.TEXTURE_2D, this.textures[name]!);
			gl.uniform1i(this.uniforms[name]!, unit);
		});
		gl.uniform2f(this.uniforms.range!, this.range[0], this.range[1]);
		gl.uniform1f(this.uniforms.until!, this.until);
		gl.uniform1ui(this.uniforms.mask!, this.mask);
		gl.uniform1f(this.uniforms.faint!, 0.22);
		const ratio = gl.drawingBufferWidth / (gl.canvas as HTMLCanvasElement).clientWidth;
		gl.uniform1f(this.uniforms.split!, Number.isFinite(this.split) ? this.split * ratio : 1e9);
		gl.enable(gl.BLEND);
		gl.disable(gl.CULL_FACE);
		gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, this.buffers[index]);
		gl.drawElements(gl.TRIANGLES, count, gl.UNSIGNED_INT, 0);
		gl.bindVertexArray(null);
		// MapLibre resets the state that it tracks, but not samplers of other texture units.
		gl.activeTexture(gl.TEXTURE0);
	}

	/** Local meters to clip space, in double precision, since single precision would jitter at high zoom. */
	private matrix(m: ArrayLike<number>): Float32Array {
		const out = new Float32Array(16);
		const [x, y] = this.origin;
		const s = this.scale;
		for (let r = 0; r < 4; r++) {
			out[r] = m[r]! * s;
			out[4 + r] = m[4 + r]! * s;
			out[8 + r] = m[8 + r]!;
			out[12 + r] = m[r]! * x + m[4 + r]! * y + m[12 + r]!;
		}
		return out;
	}

	private uploadQuads(gl: WebGL2RenderingContext): void {
		gl.bindVertexArray(this.vao);
		gl.bindBuffer(gl.ARRAY_BUFFER, this.buffers.corners);
		gl.bufferData(gl.ARRAY_BUFFER, this.quads.corners_m, gl.STATIC_DRAW);
		gl.enableVertexAttribArray(0);
		gl.vertexAttribPointer(0, 2, gl.FLOAT, false, 0, 0);
		for (const name of ['full', 'thin'] as const) {
			gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, this.buffers[name]);
			gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, this.quads[name], gl.STATIC_DRAW);
		}
		gl.bindVertexArray(null);
		this.geometryPending = false;
	}

	private upload(gl: WebGL2RenderingContext, name: TextureName, data: Float32Array | Uint8Array): void {
		const texture = (this.textures[name] ??= gl.createTexture()!);
		gl.activeTexture(gl.TEXTURE0);
		gl.bindTexture(gl.TEXTURE_2D, texture);
		for (const side of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) {
			gl.texParameteri(gl.TEXTURE_2D, side, gl.NEAREST);
		}
		gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE);
		gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE);
		// MapLibre leaves these as set for its last upload; restore them afterward.
		const flip = gl.getParameter(gl.UNPACK_FLIP_Y_WEBGL) as boolean;
		const premultiply = gl.getParameter(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL) as boolean;
		const align = gl.getParameter(gl.UNPACK_ALIGNMENT) as number;
		gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, false);
		gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, false);
		gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
		if (name === 'lut') {
			gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA8, LUT, 1, 0, gl.RGBA, gl.UNSIGNED_BYTE, data as Uint8Array);
		} else {
			const rows = Math.max(1, Math.ceil(data.length / WIDTH));
			const padded = data instanceof Float32Array ? new Float32Array(WIDTH * rows) : new Uint8Array(WIDTH * rows);
			padded.set(data);
			if (padded instanceof Float32Array) {
				gl.texImage2D(gl.TEXTURE_2D, 0, gl.R32F, WIDTH, rows, 0, gl.RED, gl.FLOAT, padded);
			} else {
				gl.texImage2D(gl.TEXTURE_2D, 0, gl.R8UI, WIDTH, rows, 0, gl.RED_INTEGER, gl.UNSIGNED_BYTE, padded);
			}
		}
		gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, flip);
		gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, premultiply);
		gl.pixelStorei(gl.UNPACK_ALIGNMENT, align);
	}
}
