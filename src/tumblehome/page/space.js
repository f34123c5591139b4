// Vectors, the camera's matrix, and numbers unpacked from text. Lengths in mm; x rearward, y to the right, z up.

const add = (a, b) => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const times = (a, k) => [a[0] * k, a[1] * k, a[2] * k];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const clamp = (v, low, high) => Math.min(Math.max(v, low), high);
const RADIANS = Math.PI / 180;

function unpacked(text, Kind) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i++) bytes[i] = raw.charCodeAt(i);
  return new Kind(bytes.buffer);
}

function rgb(hex) {
  return [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255);
}

function mixed(a, b, share) {
  return a.map((v, i) => v + (b[i] - v) * share);
}

// A camera that turns about a target: azimuth from the rear towards the right side, height above the horizon, in degrees.
class Camera {
  constructor() {
    Object.assign(this, { turn: 58, rise: 30, away: 8000, target: [0, 0, 0], lens: 26 });
  }

  axes() {
    const a = this.turn * RADIANS;
    const p = this.rise * RADIANS;
    const back = [Math.cos(a) * Math.cos(p), Math.sin(a) * Math.cos(p), Math.sin(p)];
    const right = [-Math.sin(a), Math.cos(a), 0];
    return { right, up: cross(back, right), back };
  }

  eye() {
    return add(this.target, times(this.axes().back, this.away));
  }

  // The column-major matrix that takes a point to the picture, for a scene of so many mm about a center.
  matrix(aspect, center, reach) {
    const { right, up, back } = this.axes();
    const eye = this.eye();
    const middle = dot(minus(eye, center), back);
    const near = Math.max(middle - reach, 60);
    const far = Math.max(middle + reach, near + 100);
    const f = 1 / Math.tan((this.lens * RADIANS) / 2);
    const rows = [times(right, f / aspect), times(up, f), times(back, -(far + near) / (near - far)), times(back, -1)];
    const flat = [];
    for (let k = 0; k < 3; k++) flat.push(rows[0][k], rows[1][k], -rows[2][k], rows[3][k]);
    flat.push(-dot(rows[0], eye), -dot(rows[1], eye), dot(rows[2], eye) + (2 * far * near) / (near - far), -dot(rows[3], eye));
    return new Float32Array(flat);
  }

  // How far away a box is seen whole.
  distance(low, high, aspect) {
    const { right, up, back } = this.axes();
    const tall = Math.tan((this.lens * RADIANS) / 2) * 0.94;
    const wide = tall * aspect;
    let most = 0;
    for (let i = 0; i < 8; i++) {
      const corner = [0, 1, 2].map((k) => ((i >> k) & 1 ? high : low)[k]);
      const from = minus(corner, this.target);
      const need = Math.max(Math.abs(dot(from, right)) / wide, Math.abs(dot(from, up)) / tall);
      most = Math.max(most, dot(from, back) + need);
    }
    return most;
  }

  // The direction of sight through a place of the picture, each from -1 to 1.
  ray(across, upward, aspect) {
    const { right, up, back } = this.axes();
    const tall = Math.tan((this.lens * RADIANS) / 2);
    return minus(add(times(right, across * tall * aspect), times(up, upward * tall)), back);
  }
}
