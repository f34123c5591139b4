// The van in the round: matte faces, dark edges, cut open by a plane whose cut faces are filled.

const CUT_AWAY = "if (dot(cut.xyz, place) > cut.w) discard;";
const FACES = [
  `#version 300 es
  in vec3 corner; in vec3 normal; uniform mat4 seen; uniform float grain; out vec3 place; out vec3 facing;
  void main() { place = corner * grain; facing = normal; gl_Position = seen * vec4(place, 1.0); }`,
  `#version 300 es
  precision highp float;
  in vec3 place; in vec3 facing; uniform vec3 color; uniform vec3 eye; uniform vec3 light; uniform vec4 cut; uniform float flatly;
  out vec4 shown;
  void main() {
    ${CUT_AWAY}
    vec3 view = normalize(eye - place);
    vec3 n = normalize(dot(facing, facing) > 0.0 ? facing : cross(dFdx(place), dFdy(place)));
    if (dot(n, view) < 0.0) n = -n;
    float shade = 0.76 + 0.18 * dot(n, light) + 0.09 * n.z + 0.08 * dot(n, view);
    shown = vec4(mix(color * min(shade, 1.06), color, flatly), 1.0);
  }`,
];
const EDGES = [
  `#version 300 es
  in vec3 from; in vec3 to; uniform mat4 seen; uniform float grain; uniform vec3 eye; uniform vec2 size; uniform float weight; out vec3 place;
  void main() {
    vec3 a = from * grain, b = to * grain;
    vec4 p = seen * vec4(mix(a, eye, 0.001), 1.0), q = seen * vec4(mix(b, eye, 0.001), 1.0); // a hair before their faces
    float near = 0.001;
    if (p.w < near) { float t = (near - p.w) / (q.w - p.w); p = mix(p, q, t); a = mix(a, b, t); }
    if (q.w < near) { float t = (near - q.w) / (p.w - q.w); q = mix(q, p, t); b = mix(b, a, t); }
    vec2 along = (q.xy / q.w - p.xy / p.w) * size;
    float run = length(along);
    vec2 side = run > 0.0 ? vec2(-along.y, along.x) / run : vec2(0.0);
    bool last = (gl_VertexID & 3) > 1;
    vec4 here = last ? q : p;
    place = last ? b : a;
    here.xy += (gl_VertexID % 2 == 0 ? 1.0 : -1.0) * side * weight / size * here.w;
    gl_Position = here;
  }`,
  `#version 300 es
  precision highp float;
  in vec3 place; uniform vec3 color; uniform vec4 cut; out vec4 shown;
  void main() { ${CUT_AWAY} shown = vec4(color, 1.0); }`,
];
const WHOLE = FACES.map((source) => source.replace(CUT_AWAY, "")); // what discards nothing need not be shaded where it is hidden
const NO_CUT = [0, 0, 0, 1];
const FIXED = new Set(["shell", "floor", "member", "recess"]); // what belongs to the shell
const STILL_HIGH = 640; // pixels: lines and names in a still are as large as on a stage of this height
const BLOCK = 192; // so many corners of triangles are passed over at once where a line of sight misses their box

class Round {
  constructor(canvas, told, color) {
    Object.assign(this, { canvas, told, color, camera: new Camera(), chosen: -1, cut: NO_CUT, asked: 0 });
    this.hides = { roof: true, near: true, module: false, member: false, shell: false };
    this.hiddenNames = new Set();
    this.size = null;
    this.beforehand = () => {};
    this.afterwards = () => {};
    this.measure(told);
    this.meshes = told.meshes.map((mesh) => this.unpack(mesh));
    this.begin();
    canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    canvas.addEventListener("webglcontextrestored", () => { this.begin(); this.draw(); });
  }

  // Take the meshes of some things away, by their names, and put others in their place.
  replace(gone, meshes) {
    const old = this.meshes.filter((mesh) => gone.has(mesh.name) && !FIXED.has(mesh.kind));
    for (const mesh of old) this.unload(mesh);
    const fresh = meshes.map((mesh) => this.unpack(mesh));
    for (const mesh of fresh) this.load(mesh);
    this.meshes = [...this.meshes.filter((mesh) => !old.includes(mesh)), ...fresh];
    this.draw();
  }

  // Begin again with another shell.
  restart(told) {
    for (const mesh of this.meshes) this.unload(mesh);
    this.measure(told);
    this.meshes = told.meshes.map((mesh) => this.unpack(mesh));
    for (const mesh of this.meshes) this.load(mesh);
    this.draw();
  }

  measure(told) {
    this.told = told;
    this.center = times(add(told.low, told.high), 0.5);
    this.reach = Math.hypot(...minus(told.high, told.low)) * 0.75;
  }

  unpack(mesh) {
    const corners = unpacked(mesh.corners, Int16Array);
    const seams = mesh.seams.map(([beyond, faces, edges]) => ({
      beyond, faces: unpacked(faces, Uint32Array), edges: unpacked(edges, Uint32Array),
    }));
    const low = [Infinity, Infinity, Infinity];
    const high = [-Infinity, -Infinity, -Infinity];
    for (let i = 0; i < corners.length; i++) {
      low[i % 3] = Math.min(low[i % 3], corners[i] * this.told.grain);
      high[i % 3] = Math.max(high[i % 3], corners[i] * this.told.grain);
    }
    const own = rgb(mesh.color);
    const inside = mesh.kind === "shell" || mesh.kind === "floor" ? this.color.steel : mixed(own, this.color.ink, 0.34);
    return { ...mesh, corners, seams, low, high, own, inside };
  }

  begin() {
    const gl = this.canvas.getContext("webgl2", { antialias: true, stencil: true, alpha: false });
    if (!gl) throw new Error("no WebGL 2");
    this.gl = gl;
    this.faces = this.program(FACES, ["corner", "normal"]);
    this.whole = this.program(WHOLE, ["corner", "normal"]);
    this.edges = this.program(EDGES, ["from", "to"]);
    for (const mesh of this.meshes) this.load(mesh);
    this.plane = { array: gl.createVertexArray(), corners: gl.createBuffer() };
    gl.bindVertexArray(this.plane.array);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.plane.corners);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
  }

  program(sources, names) {
    const gl = this.gl;
    const program = gl.createProgram();
    sources.forEach((source, i) => {
      const shader = gl.createShader(i ? gl.FRAGMENT_SHADER : gl.VERTEX_SHADER);
      gl.shaderSource(shader, source);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    });
    names.forEach((name, i) => gl.bindAttribLocation(program, i, name));
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program) || "no shader");
    const at = {};
    for (let i = 0; i < gl.getProgramParameter(program, gl.ACTIVE_UNIFORMS); i++) {
      const { name } = gl.getActiveUniform(program, i);
      at[name] = gl.getUniformLocation(program, name);
    }
    return { program, at };
  }

  load(mesh) {
    const gl = this.gl;
    mesh.array = gl.createVertexArray();
    mesh.buffers = [];
    gl.bindVertexArray(mesh.array);
    this.attribute(mesh, 0, mesh.corners, gl.SHORT, 0);
    if (mesh.kind === "person") this.attribute(mesh, 1, smoothNormals(mesh), gl.FLOAT, 0);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, this.buffer(mesh));
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, joined(mesh.seams.map((seam) => seam.faces), Uint32Array), gl.STATIC_DRAW);
    let start = 0;
    for (const seam of mesh.seams) {
      seam.start = start;
      start += seam.faces.length;
      this.loadEdges(mesh, seam);
    }
    mesh.count = start;
  }

  // Each edge is a strip of two triangles whose four corners all know both of its ends.
  loadEdges(mesh, seam) {
    const gl = this.gl;
    const count = seam.edges.length / 2;
    const ends = new Int16Array(count * 24);
    const corners = new Uint32Array(count * 6);
    for (let i = 0; i < count; i++) {
      const pair = [0, 1].flatMap((k) => [0, 1, 2].map((axis) => mesh.corners[3 * seam.edges[2 * i + k] + axis]));
      for (let k = 0; k < 4; k++) ends.set(pair, 24 * i + 6 * k);
      corners.set([0, 1, 2, 2, 1, 3].map((k) => 4 * i + k), 6 * i);
    }
    seam.array = gl.createVertexArray();
    seam.count = corners.length;
    gl.bindVertexArray(seam.array);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.buffer(mesh));
    gl.bufferData(gl.ARRAY_BUFFER, ends, gl.STATIC_DRAW);
    for (const i of [0, 1]) {
      gl.enableVertexAttribArray(i);
      gl.vertexAttribPointer(i, 3, gl.SHORT, false, 12, 6 * i);
    }
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, this.buffer(mesh));
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, corners, gl.STATIC_DRAW);
    gl.bindVertexArray(mesh.array);
  }

  buffer(mesh) {
    const made = this.gl.createBuffer();
    mesh.buffers.push(made);
    return made;
  }

  unload(mesh) {
    for (const buffer of mesh.buffers) this.gl.deleteBuffer(buffer);
    for (const { array } of [mesh, ...mesh.seams]) this.gl.deleteVertexArray(array);
  }

  attribute(mesh, index, values, kind, stride) {
    const gl = this.gl;
    gl.bindBuffer(gl.ARRAY_BUFFER, this.buffer(mesh));
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    gl.enableVertexAttribArray(index);
    gl.vertexAttribPointer(index, 3, kind, false, stride, 0);
  }

  // What is left out: the roof, and the walls between the viewer and the inside.
  hidden() {
    const out = new Set();
    const eye = this.camera.eye();
    if (this.hides.roof) out.add("roof");
    if (this.hides.near) {
      if (eye[1] > this.told.high[1] * 0.7) out.add("right");
      if (eye[1] < this.told.low[1] * 0.7) out.add("left");
      if (eye[0] > this.told.high[0]) out.add("rear");
      if (eye[0] < this.told.low[0]) out.add("front");
    }
    return out;
  }

  // A region at an end, "front-left", is hidden with the end and with the side.
  isHidden(region, hidden) {
    return region.split("-").some((word) => hidden.has(word));
  }

  // A person is never cut: it stands whole, or not at all.
  isLeft(mesh) {
    if (mesh.kind !== "person") return true;
    const middle = times(add(mesh.low, mesh.high), 0.5);
    return dot(this.cut, middle) < this.cut[3] + 1 && !(this.cut[2] && this.isCut(mesh));
  }

  visible(hidden = this.hidden()) {
    const kind = { module: "module", member: "member", shell: "shell", recess: "shell" };
    return this.meshes.filter((mesh) => !this.hides[kind[mesh.kind]] && !(mesh.kind === "module" && this.hiddenNames.has(mesh.name)) && !this.isHidden(mesh.region, hidden) && this.isLeft(mesh));
  }

  // Bring everything that a camera would see, once cut, into the middle of the picture and as near as it goes.
  frame(camera, cut) {
    const own = this.camera;
    this.camera = camera;
    camera.away = camera.distance(this.told.low, this.told.high, this.aspect());
    const meshes = this.visible();
    this.camera = own;
    const tall = Math.tan((camera.lens * RADIANS) / 2);
    const { right, up, back } = camera.axes();
    for (let turn = 0; turn < 4; turn++) {
      const eye = camera.eye();
      const [least, most] = [[Infinity, Infinity], [-Infinity, -Infinity]];
      for (const mesh of meshes) {
        for (let i = 0; i < mesh.corners.length / 3; i++) {
          const point = cornerOf(mesh, i, this.told.grain);
          const from = minus(minus(point, times(cut, Math.max(dot(cut, point) - cut[3], 0))), eye);
          const far = -dot(from, back) * tall;
          [dot(from, right) / far / this.aspect(), dot(from, up) / far].forEach((v, k) => {
            least[k] = Math.min(least[k], v);
            most[k] = Math.max(most[k], v);
          });
        }
      }
      const mm = (k) => ((least[k] + most[k]) / 2) * camera.away * tall;
      camera.target = add(camera.target, add(times(right, mm(0) * this.aspect()), times(up, mm(1))));
      camera.away *= Math.max(most[0] - least[0], most[1] - least[1]) / 2 / 0.93;
    }
  }

  draw() {
    this.beforehand();
    if (!this.asked) this.asked = requestAnimationFrame(() => { this.asked = 0; this.paint(); this.afterwards(); });
  }

  paint() {
    const { gl, canvas } = this;
    const dots = this.size ? this.size[1] / STILL_HIGH : Math.min(window.devicePixelRatio || 1, 2.5);
    const [wide, tall] = this.size || [Math.round(canvas.clientWidth * dots), Math.round(canvas.clientHeight * dots)];
    if (canvas.width !== wide || canvas.height !== tall) Object.assign(canvas, { width: wide, height: tall });
    gl.viewport(0, 0, wide, tall);
    gl.clearColor(...this.color.air, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);
    this.seen = this.camera.matrix(this.aspect(), this.center, this.reach);
    const hidden = this.hidden();
    const meshes = this.visible(hidden).filter((mesh) => !this.isGone(mesh));
    const cut = meshes.filter((mesh) => mesh.kind !== "person" && this.isCut(mesh));
    this.paintFaces(this.whole, this.nearestFirst(meshes.filter((mesh) => !cut.includes(mesh))), hidden);
    this.paintFaces(this.faces, cut, hidden);
    if (cut.length) this.paintCut(cut.filter((mesh) => mesh.kind !== "recess"));
    this.paintEdges(meshes, hidden, dots);
  }

  // What is nearer hides what is further: that need not be shaded.
  nearestFirst(meshes) {
    const eye = this.camera.eye();
    const away = new Map(meshes.map((mesh) => [mesh, Math.hypot(...minus(times(add(mesh.low, mesh.high), 0.5), eye))]));
    return meshes.sort((one, other) => away.get(one) - away.get(other));
  }

  // Paint once at so many pixels and hand the picture to somebody before it is painted anew.
  still(wide, tall, use) {
    this.size = [wide, tall];
    this.paint();
    const made = use(this.canvas);
    this.size = null;
    this.paint();
    return made;
  }

  aspect() {
    const [wide, tall] = this.extent();
    return wide / tall;
  }

  // How large the picture is, in pixels of the page: lines and names of a still are drawn as on a page of a fixed height.
  extent() {
    if (this.size) return [(STILL_HIGH * this.size[0]) / this.size[1], STILL_HIGH];
    return [this.canvas.clientWidth, Math.max(this.canvas.clientHeight, 1)];
  }

  use({ program, at }) {
    const { gl } = this;
    gl.useProgram(program);
    gl.uniformMatrix4fv(at.seen, false, this.seen);
    gl.uniform1f(at.grain, this.told.grain);
    gl.uniform4fv(at.cut, this.cut);
    return at;
  }

  paintFaces(program, meshes, hidden) {
    const { gl } = this;
    const at = this.use(program);
    const { right } = this.camera.axes();
    const light = add([0, 0, 0.78], times(right, -0.62));
    gl.uniform3fv(at.eye, this.camera.eye());
    gl.uniform3fv(at.light, light);
    gl.uniform1f(at.flatly, 0);
    gl.enable(gl.POLYGON_OFFSET_FILL);
    gl.polygonOffset(1, 1);
    for (const mesh of meshes) {
      const chosen = mesh.module >= 0 && mesh.module === this.chosen;
      gl.bindVertexArray(mesh.array);
      if (mesh.kind === "recess") { gl.enable(gl.CULL_FACE); gl.cullFace(gl.FRONT); }
      for (const { beyond, start, faces } of mesh.seams) {
        if (beyond && !this.isHidden(beyond, hidden)) continue;
        gl.uniform3fv(at.color, beyond ? mesh.inside : chosen ? mixed(mesh.own, this.color.accent, 0.3) : mesh.own);
        gl.uniform1f(at.flatly, beyond ? 1 : 0);
        gl.drawElements(gl.TRIANGLES, faces.length, gl.UNSIGNED_INT, 4 * start);
      }
      gl.disable(gl.CULL_FACE);
    }
    gl.disable(gl.POLYGON_OFFSET_FILL);
  }

  // A ray that enters a solid once more often than it leaves it ends inside: there its cut face is filled.
  paintCut(cut) {
    const { gl } = this;
    const planes = this.layPlanes(cut);
    const at = this.use(this.faces);
    gl.enable(gl.STENCIL_TEST);
    gl.enable(gl.SCISSOR_TEST);
    gl.uniform1f(at.flatly, 1);
    cut.forEach((mesh, i) => {
      gl.scissor(...this.boxAbout(planes[i]));
      gl.bindVertexArray(mesh.array);
      gl.clear(gl.STENCIL_BUFFER_BIT);
      gl.colorMask(false, false, false, false);
      gl.depthMask(false);
      gl.disable(gl.DEPTH_TEST);
      gl.stencilFunc(gl.ALWAYS, 0, 255);
      gl.stencilOpSeparate(gl.FRONT, gl.KEEP, gl.KEEP, gl.DECR_WRAP);
      gl.stencilOpSeparate(gl.BACK, gl.KEEP, gl.KEEP, gl.INCR_WRAP);
      gl.drawElements(gl.TRIANGLES, mesh.count, gl.UNSIGNED_INT, 0);
      gl.colorMask(true, true, true, true);
      gl.depthMask(true);
      gl.enable(gl.DEPTH_TEST);
      gl.stencilFunc(gl.NOTEQUAL, 0, 255);
      gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
      gl.bindVertexArray(this.plane.array);
      gl.uniform4fv(at.cut, NO_CUT);
      gl.uniform3fv(at.color, mesh.inside);
      gl.drawArrays(gl.TRIANGLE_STRIP, 4 * i, 4);
      gl.uniform4fv(at.cut, this.cut);
    });
    gl.disable(gl.SCISSOR_TEST);
    gl.disable(gl.STENCIL_TEST);
  }

  // The box of pixels about points, as scissors take it; all of the picture where one of them is behind the eye.
  boxAbout(points) {
    const { width, height } = this.canvas;
    const seen = points.map((point) => this.projected(point));
    if (seen.some(([, , w]) => w <= 0.001)) return [0, 0, width, height];
    const ends = [[0, width], [1, height]].map(([k, size]) => {
      const at = seen.map((each) => ((each[k] / each[2] + 1) / 2) * size);
      const first = Math.max(0, Math.floor(Math.min(...at)) - 1);
      return [first, Math.max(0, Math.min(size, Math.ceil(Math.max(...at)) + 1) - first)];
    });
    return [ends[0][0], ends[1][0], ends[0][1], ends[1][1]];
  }

  // For each mesh that is cut, as much of the cutting plane as its cut face can take: its corners.
  layPlanes(meshes) {
    const { gl } = this;
    const normal = this.cut.slice(0, 3);
    const axis = normal.findIndex((v) => v !== 0);
    const [u, v] = [(axis + 1) % 3, (axis + 2) % 3];
    const planes = meshes.map(({ low, high }) => [[0, 0], [1, 0], [0, 1], [1, 1]].map(([a, b]) => {
      const corner = [0, 0, 0];
      corner[axis] = this.cut[3] * normal[axis];
      corner[u] = a ? high[u] + 1 : low[u] - 1;
      corner[v] = b ? high[v] + 1 : low[v] - 1;
      return corner;
    }));
    gl.bindBuffer(gl.ARRAY_BUFFER, this.plane.corners);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(planes.flat(2).map((value) => value / this.told.grain)), gl.DYNAMIC_DRAW);
    return planes;
  }

  isCut(mesh) {
    const [near, far] = this.fromCut(mesh);
    return near < 0 && far > 0;
  }

  // Whether all of it is cut away.
  isGone(mesh) {
    return this.fromCut(mesh)[0] >= 0;
  }

  // How far beyond the cutting plane a mesh begins and ends.
  fromCut({ low, high }) {
    const normal = this.cut.slice(0, 3);
    const ends = (one, other) => dot(normal, [0, 1, 2].map((k) => (normal[k] > 0 ? one : other)[k])) - this.cut[3];
    return [ends(low, high), ends(high, low)];
  }

  paintEdges(meshes, hidden, dots) {
    const { gl } = this;
    const at = this.use(this.edges);
    gl.uniform3fv(at.eye, this.camera.eye());
    gl.uniform2f(at.size, this.canvas.width, this.canvas.height);
    for (const mesh of meshes) {
      const chosen = mesh.module >= 0 && mesh.module === this.chosen;
      gl.uniform3fv(at.color, chosen ? this.color.accent : mesh.kind === "recess" ? this.color.recessEdge : this.color.ink);
      gl.uniform1f(at.weight, (chosen ? 2.4 : 1.1) * dots);
      for (const { beyond, count, array } of mesh.seams) {
        if (!count || (beyond && !this.isHidden(beyond, hidden))) continue;
        gl.bindVertexArray(array);
        gl.drawElements(gl.TRIANGLES, count, gl.UNSIGNED_INT, 0);
      }
    }
  }

  // The mesh that is seen at a place of the picture, each from -1 to 1, and how far away; null for none. The person is only a
  // measure: what stands behind is pointed at.
  at(across, upward, meshes = this.visible().filter((mesh) => mesh.kind !== "person")) {
    return this.along(this.camera.eye(), this.camera.ray(across, upward, this.aspect()), meshes);
  }

  along(from, way, meshes) {
    let found = null;
    for (const mesh of meshes) {
      if (mesh.kind === "recess" || !meetsBox(from, way, mesh)) continue;
      const far = nearestHit(from, way, mesh, this.told.grain, this.cut);
      if (far < (found ? found.far : Infinity)) found = { mesh, far };
    }
    return found;
  }

  // Where a point is seen, in pixels of the page from the picture's corner.
  placed(point) {
    const [x, y, w] = this.projected(point);
    const [wide, tall] = this.extent();
    return [((x / w + 1) / 2) * wide, ((1 - y / w) / 2) * tall];
  }

  // A point as the camera's matrix sees it: across, upward, and by what the two are to be divided.
  projected(point) {
    const m = this.seen;
    return [0, 1, 3].map((r) => m[r] * point[0] + m[4 + r] * point[1] + m[8 + r] * point[2] + m[12 + r]);
  }
}

function joined(arrays, Kind) {
  const all = new Kind(arrays.reduce((sum, array) => sum + array.length, 0));
  let start = 0;
  for (const array of arrays) { all.set(array, start); start += array.length; }
  return all;
}

function cornerOf(mesh, index, grain) {
  return [mesh.corners[3 * index] * grain, mesh.corners[3 * index + 1] * grain, mesh.corners[3 * index + 2] * grain];
}

function smoothNormals({ corners, seams }) {
  const sums = new Float32Array(corners.length);
  for (const { faces } of seams) {
    for (let i = 0; i < faces.length; i += 3) {
      const [a, b, c] = [3 * faces[i], 3 * faces[i + 1], 3 * faces[i + 2]];
      for (let k = 0; k < 3; k++) {
        const [u, v] = [(k + 1) % 3, (k + 2) % 3];
        const across = (corners[b + u] - corners[a + u]) * (corners[c + v] - corners[a + v]);
        const normal = across - (corners[b + v] - corners[a + v]) * (corners[c + u] - corners[a + u]);
        for (const corner of [a, b, c]) sums[corner + k] += normal;
      }
    }
  }
  return sums;
}

function meetsBox(from, way, { low, high }) {
  let [first, last] = [0, Infinity];
  for (const k of [0, 1, 2]) {
    const ends = [(low[k] - from[k]) / way[k], (high[k] - from[k]) / way[k]];
    if (way[k] === 0) { if (from[k] < low[k] || from[k] > high[k]) return false; continue; }
    first = Math.max(first, Math.min(...ends));
    last = Math.min(last, Math.max(...ends));
  }
  return first <= last;
}

function nearestHit(from, way, mesh, grain, cut) {
  let nearest = Infinity;
  for (const seam of mesh.seams) {
    for (const block of blocksOf(mesh, seam, grain)) {
      if (meetsBox(from, way, block)) nearest = Math.min(nearest, hitAmong(from, way, mesh, seam.faces, block, grain, cut));
    }
  }
  return nearest;
}

// The triangles of a seam in rows of neighbors, each with its box: where a line of sight misses the box it misses them all.
function blocksOf(mesh, seam, grain) {
  if (seam.blocks) return seam.blocks;
  seam.blocks = [];
  for (let first = 0; first < seam.faces.length; first += BLOCK) {
    const last = Math.min(first + BLOCK, seam.faces.length);
    const low = [Infinity, Infinity, Infinity];
    const high = [-Infinity, -Infinity, -Infinity];
    for (let i = first; i < last; i++) {
      for (let k = 0; k < 3; k++) {
        const v = mesh.corners[3 * seam.faces[i] + k] * grain;
        if (v < low[k]) low[k] = v;
        if (v > high[k]) high[k] = v;
      }
    }
    seam.blocks.push({ first, last, low, high });
  }
  return seam.blocks;
}

function hitAmong(from, way, mesh, faces, { first, last }, grain, cut) {
  let nearest = Infinity;
  for (let i = first; i < last; i += 3) {
    const a = cornerOf(mesh, faces[i], grain);
    const ab = minus(cornerOf(mesh, faces[i + 1], grain), a);
    const ac = minus(cornerOf(mesh, faces[i + 2], grain), a);
    const p = cross(way, ac);
    const size = dot(ab, p);
    if (Math.abs(size) < 1e-9) continue;
    const to = minus(from, a);
    const u = dot(to, p) / size;
    const q = cross(to, ab);
    const v = dot(way, q) / size;
    const far = dot(ac, q) / size;
    if (u < 0 || v < 0 || u + v > 1 || far <= 0 || far >= nearest) continue;
    if (dot(cut, add(from, times(way, far))) <= cut[3]) nearest = far;
  }
  return nearest;
}
