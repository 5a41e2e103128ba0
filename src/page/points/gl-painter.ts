import { projectionOf } from './camera.js';
import { pointSizePx, SELECTED, type PaintWish, type PointCloud, type PointPainter } from './point-painter.js';

const VERTEX = `#version 300 es
in vec3 place;
in float line;
in float state;
uniform vec3 offset;
uniform vec3 right;
uniform vec3 up;
uniform vec3 away;
uniform vec2 clip;
uniform vec3 range;
uniform float size;
uniform int colourBy;
uniform int flaggedShown;
uniform float lineLightness;
uniform vec3 selectedColour;
uniform vec3 ramp[5];
uniform vec3 reasons[16];
flat out vec4 colour;
vec3 ofLine(float number) {
  if (number < 0.5) return vec3(0.5);
  float hue = fract((number - 1.0) * 0.618034);
  vec3 at = mod(vec3(0.0, 8.0, 4.0) + hue * 12.0, 12.0);
  return lineLightness - 0.7 * min(lineLightness, 1.0 - lineLightness) * max(vec3(-1.0), min(min(at - 3.0, 9.0 - at), 1.0));
}
vec3 ofDepth(float depth) {
  float at = clamp((depth - range.x) / max(range.y - range.x, 1e-6), 0.0, 1.0) * 4.0;
  int k = min(3, int(at));
  return mix(ramp[k], ramp[k + 1], at - float(k));
}
void main() {
  int bits = int(state + 0.5);
  bool selected = (bits & ${SELECTED}) != 0;
  int code = bits & 15;
  bool flagged = code != 0 && !selected;
  if (flagged && flaggedShown == 2) {
    gl_Position = vec4(2.0, 2.0, 2.0, 1.0);
    gl_PointSize = 1.0;
    return;
  }
  vec3 at = place + offset;
  gl_Position = vec4(dot(at, right) * clip.x, dot(at, up) * clip.y, selected ? -0.999 : clamp(dot(at, away) * range.z, -0.998, 1.0), 1.0);
  gl_PointSize = selected ? size + 1.5 : size;
  vec3 base = selected ? selectedColour : colourBy == 1 || (flagged && colourBy == 0) ? reasons[code] : colourBy == 2 ? ofLine(line) : ofDepth(place.z);
  colour = vec4(base, flagged && flaggedShown == 1 ? 0.0 : 1.0);
}`;

const FRAGMENT = `#version 300 es
precision mediump float;
flat in vec4 colour;
out vec4 pixel;
void main() {
  // A ghost is a sieve: what is behind it shows through.
  if (colour.a < 0.5 && (int(gl_FragCoord.x) + 2 * int(gl_FragCoord.y)) % 3 != 0) discard;
  pixel = vec4(colour.rgb, 1.0);
}`;

/** Graphics drivers that use no graphics processor. */
const SOFTWARE = /swiftshader|llvmpipe|softpipe|software|basic render/i;

/** Whether this browser would draw with the main processor, asked of a canvas of its own. */
function isDrawnBySoftware(): boolean {
  const gl = document.createElement('canvas').getContext('webgl2', { failIfMajorPerformanceCaveat: true });
  if (gl === null) return true;
  const info = gl.getExtension('WEBGL_debug_renderer_info');
  const renderer = String(gl.getParameter(info === null ? gl.RENDERER : info.UNMASKED_RENDERER_WEBGL));
  gl.getExtension('WEBGL_lose_context')?.loseContext();
  return SOFTWARE.test(renderer);
}

/** Points drawn by the graphics processor (WebGL 2). */
export class GlPainter implements PointPainter {
  readonly kind = 'gl';
  readonly #canvas: HTMLCanvasElement;
  readonly #gl: WebGL2RenderingContext;
  #program: WebGLProgram;
  #where = new Map<string, WebGLUniformLocation | null>();
  #buffers: { readonly place: WebGLBuffer; readonly line: WebGLBuffer; readonly state: WebGLBuffer };
  #cloud: PointCloud | null = null;
  #states: Uint8Array | null = null;

  /** @returns null where this browser has no WebGL 2, or would do it in software: pixels drawn by hand are many times faster then */
  static make(canvas: HTMLCanvasElement, restored: () => void): GlPainter | null {
    if (isDrawnBySoftware()) return null;
    const gl = canvas.getContext('webgl2', { antialias: false, alpha: false, depth: true, powerPreference: 'high-performance', failIfMajorPerformanceCaveat: true });
    return gl === null ? null : new GlPainter(canvas, gl, restored);
  }

  private constructor(canvas: HTMLCanvasElement, gl: WebGL2RenderingContext, restored: () => void) {
    this.#canvas = canvas;
    this.#gl = gl;
    [this.#program, this.#buffers] = this.#prepare();
    canvas.addEventListener('webglcontextlost', (event) => event.preventDefault());
    canvas.addEventListener('webglcontextrestored', () => {
      this.#where.clear();
      [this.#program, this.#buffers] = this.#prepare();
      if (this.#cloud !== null) this.setCloud(this.#cloud);
      if (this.#states !== null) this.setStates(this.#states);
      restored();
    });
  }

  setCloud(cloud: PointCloud): void {
    const gl = this.#gl;
    this.#cloud = cloud;
    this.#states = null;
    this.#fill('place', this.#buffers.place, cloud.place, 3, gl.FLOAT);
    this.#fill('line', this.#buffers.line, cloud.line, 1, gl.UNSIGNED_BYTE);
  }

  setStates(states: Uint8Array): void {
    const gl = this.#gl;
    if (this.#states !== null && this.#states.length === states.length) {
      gl.bindBuffer(gl.ARRAY_BUFFER, this.#buffers.state);
      gl.bufferSubData(gl.ARRAY_BUFFER, 0, states);
    } else this.#fill('state', this.#buffers.state, states, 1, gl.UNSIGNED_BYTE);
    this.#states = states;
  }

  paint({ camera, widthPx, heightPx, pixelRatio, colourBy, flagged, colours, share }: PaintWish): void {
    const gl = this.#gl;
    const width = Math.round(widthPx * pixelRatio);
    const height = Math.round(heightPx * pixelRatio);
    if (this.#canvas.width !== width) this.#canvas.width = width;
    if (this.#canvas.height !== height) this.#canvas.height = height;
    gl.viewport(0, 0, width, height);
    const [r, g, b] = colours.paper;
    gl.clearColor(r / 255, g / 255, b / 255, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const cloud = this.#cloud;
    if (cloud === null || this.#states === null || cloud.n === 0 || gl.isContextLost()) return;
    const p = projectionOf(camera);
    gl.useProgram(this.#program);
    gl.enable(gl.DEPTH_TEST);
    gl.uniform3f(this.#at('offset'), cloud.middle.xM - camera.xM, cloud.middle.yM - camera.yM, cloud.middle.depthM - camera.depthM);
    gl.uniform3f(this.#at('right'), p.rightE, p.rightN, 0);
    gl.uniform3f(this.#at('up'), p.upE, p.upN, p.upDepth);
    gl.uniform3f(this.#at('away'), p.awayE, p.awayN, p.awayDepth);
    gl.uniform2f(this.#at('clip'), 2 / widthPx, 2 / heightPx);
    const far = 2 * cloud.reachM + 3 * (cloud.deepM - cloud.shoalM + 1) * camera.exaggeration + Math.hypot(cloud.middle.xM - camera.xM, cloud.middle.yM - camera.yM);
    gl.uniform3f(this.#at('range'), cloud.shoalM - cloud.middle.depthM, cloud.deepM - cloud.middle.depthM, 1 / far);
    gl.uniform1f(this.#at('size'), pointSizePx(camera) * pixelRatio);
    gl.uniform1i(this.#at('colourBy'), colourBy === 'depth' ? 0 : colourBy === 'reason' ? 1 : 2);
    gl.uniform1i(this.#at('flaggedShown'), flagged === 'shown' ? 0 : flagged === 'ghost' ? 1 : 2);
    gl.uniform1f(this.#at('lineLightness'), colours.lineLightness);
    gl.uniform3fv(this.#at('selectedColour'), colours.selected.map((v) => v / 255));
    gl.uniform3fv(this.#at('ramp'), colours.ramp.flat().map((v) => v / 255));
    gl.uniform3fv(this.#at('reasons'), colours.reasons.flat().map((v) => v / 255));
    gl.drawArrays(gl.POINTS, 0, Math.max(1, Math.round(cloud.n * share)));
  }

  dispose(): void {
    this.#gl.getExtension('WEBGL_lose_context')?.loseContext();
  }

  #at(name: string): WebGLUniformLocation | null {
    if (!this.#where.has(name)) this.#where.set(name, this.#gl.getUniformLocation(this.#program, name));
    return this.#where.get(name) ?? null;
  }

  #prepare(): [WebGLProgram, { place: WebGLBuffer; line: WebGLBuffer; state: WebGLBuffer }] {
    const gl = this.#gl;
    const program = gl.createProgram();
    for (const [type, source] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]] as const) {
      const shader = gl.createShader(type) as WebGLShader;
      gl.shaderSource(shader, source);
      gl.compileShader(shader);
      if (gl.getShaderParameter(shader, gl.COMPILE_STATUS) !== true && !gl.isContextLost()) throw new Error(`the points cannot be drawn: ${gl.getShaderInfoLog(shader) ?? 'the graphics driver refused'}`);
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    return [program, { place: gl.createBuffer(), line: gl.createBuffer(), state: gl.createBuffer() }];
  }

  #fill(name: string, buffer: WebGLBuffer, data: Float32Array | Uint8Array, size: number, type: number): void {
    const gl = this.#gl;
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, data, name === 'state' ? gl.DYNAMIC_DRAW : gl.STATIC_DRAW);
    const at = gl.getAttribLocation(this.#program, name);
    if (at < 0) return;
    gl.enableVertexAttribArray(at);
    gl.vertexAttribPointer(at, size, type, false, 0, 0);
  }
}
