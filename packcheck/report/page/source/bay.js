// The bay in 3D: its parts, the gap of the finding looked at, the camera and the cut.
import {
  AmbientLight, BufferAttribute, BufferGeometry, Color, CylinderGeometry, DirectionalLight, DoubleSide, EdgesGeometry,
  Group, LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, MeshLambertMaterial, PerspectiveCamera, Plane,
  Quaternion, Raycaster, Scene, Vector2, Vector3, WebGLRenderer,
} from "three";
import {OrbitControls} from "three/addons/controls/OrbitControls.js";

const EDGED = 4000;      // faces; larger meshes get no lines along their edges
const FAINT = 0.12;      // how solid the rest of the bay is beside a pair
const SKIN = 0.1;        // how solid body panels are in the whole bay
const FLIGHT = 450;      // ms from one place to the next
const SLOW = 140;        // ms for a picture; where it takes longer the camera goes in one step
const STILL = matchMedia("(prefers-reduced-motion: reduce)").matches;

export class Bay {
  constructor(stage, data, parts) {
    this.stage = stage;
    this.data = data;
    this.up = new Vector3(...data.up);
    this.hiddenKinds = new Set();
    this.finding = null;
    this.plane = new Plane();
    this.cutting = false;
    this.renderer = new WebGLRenderer({antialias: true, alpha: true, preserveDrawingBuffer: true});
    this.renderer.localClippingEnabled = true;
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.canvas = this.renderer.domElement;
    stage.append(this.canvas);
    this.label = document.createElement("output");
    this.label.className = "gap-label";
    stage.append(this.label);
    this.scene = new Scene();
    this.camera = new PerspectiveCamera(32, 1, 5, 50000);
    this.camera.up.copy(this.up);
    this.lights();
    this.parts = data.parts.map((part, k) => this.part(part, parts[k]));
    this.gap = new Group();
    this.scene.add(this.gap);
    this.controls = new OrbitControls(this.camera, this.canvas);
    this.controls.enableDamping = false;
    this.controls.addEventListener("change", () => { if (!this.flying) this.draw(); });
    new ResizeObserver(() => this.fit()).observe(stage);
    this.fit();
    this.whole(false);
  }

  lights() {
    this.scene.add(new AmbientLight(0xffffff, 1.5));
    this.lamp = new DirectionalLight(0xffffff, 1.9);
    this.scene.add(this.lamp, this.lamp.target);
  }

  part(facts, {corners, faces}) {
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(corners, 3));
    geometry.setIndex(new BufferAttribute(faces, 1));
    const material = new MeshLambertMaterial({color: facts.colour, side: DoubleSide, flatShading: true});
    const stripe = {value: new Color(facts.colour)};
    material.onBeforeCompile = (shader) => striped(shader, stripe);
    const mesh = new Mesh(geometry, material);
    mesh.userData = {facts, stripe};
    if (facts.faces <= EDGED) {
      const lines = new LineBasicMaterial({color: 0x20262b, transparent: true});
      mesh.add(new LineSegments(new EdgesGeometry(geometry, 30), lines));
    }
    this.scene.add(mesh);
    return mesh;
  }

  // How a part looks: its colour, stripes of another colour or none, how solid it is.
  paint(mesh, colour, stripes, solid) {
    const {facts, stripe} = mesh.userData;
    mesh.visible = solid > 0 && !facts.kinds.some((kind) => this.hiddenKinds.has(kind));
    mesh.material.color.set(colour);
    stripe.value.set(stripes ?? colour);
    mesh.material.transparent = solid < 1;
    mesh.material.opacity = solid;
    mesh.material.depthWrite = solid >= 1;
    mesh.material.clippingPlanes = this.cutting ? [this.plane] : null;
    mesh.material.needsUpdate = true;
    for (const lines of mesh.children) {
      lines.material.opacity = solid < 1 ? solid / 2 : 0.55;
      lines.material.clippingPlanes = mesh.material.clippingPlanes;
      lines.material.needsUpdate = true;
    }
  }

  repaint() {
    const shown = this.finding;
    const stance = this.data.stances[shown?.stance] ?? {};
    for (const mesh of this.parts) {
      const {facts} = mesh.userData;
      mesh.matrixAutoUpdate = false;
      if (stance[facts.name]) mesh.matrix.fromArray(stance[facts.name]);
      else mesh.matrix.identity();
      mesh.matrixWorldNeedsUpdate = true;
      if (!shown) {
        const [colour, stripes] = this.data.striking[facts.name] ?? [facts.colour, null];
        this.paint(mesh, colour, stripes, facts.kinds.includes("body") ? SKIN : 1);
      } else if (facts.name === shown.subjects[0]) this.paint(mesh, shown.colour, null, 1);
      else if (shown.subjects.includes(facts.name)) this.paint(mesh, this.data.other, shown.colour, 1);
      else this.paint(mesh, facts.colour, null, shown.hiding.includes(facts.name) ? 0 : FAINT);
    }
    this.draw();
  }

  whole(fly = true) {
    this.finding = null;
    this.gap.clear();
    this.label.textContent = "";
    const {middle, radius, toward} = this.data.whole;
    this.look(new Vector3(...middle), new Vector3(...toward), radius, fly);
    this.repaint();
  }

  goTo(finding) {
    this.finding = finding;
    this.measure(finding);
    this.look(new Vector3(...finding.middle), new Vector3(...finding.toward), finding.radius, true);
    if (this.cutting) this.cutAt(finding, 0);
    this.repaint();
  }

  // Square to the sight, `aside` mm nearer to the eye than the middle of the gap.
  cutAt(finding, aside) {
    const toward = new Vector3(...finding.toward);
    const point = new Vector3(...finding.middle).addScaledVector(toward, aside);
    this.plane.setFromNormalAndCoplanarPoint(toward.negate(), point);
  }

  // A cut square to `normal`, everything farther along it than `reach` taken away.
  cut(normal, reach) {
    this.cutting = Boolean(normal);
    if (normal) this.plane.set(new Vector3(...normal).negate(), reach);
    this.repaint();
  }

  // `share` of what is seen round the spot: 0 through it, 1 nearest to the eye.
  cutThroughFinding(share) {
    this.cutting = Boolean(this.finding);
    if (this.finding) this.cutAt(this.finding, share * this.finding.radius);
    this.repaint();
  }

  // The gap as a rod from part to part, in pieces where it is undecided; it shows through everything.
  measure(finding) {
    this.gap.clear();
    const [start, end] = finding.points.map((point) => new Vector3(...point));
    const along = end.clone().sub(start);
    const pieces = finding.dashed ? [[0, 0.16], [0.28, 0.44], [0.56, 0.72], [0.84, 1]] : [[0, 1]];
    const turn = new Quaternion().setFromUnitVectors(new Vector3(0, 1, 0), along.clone().normalize());
    const material = new MeshBasicMaterial({color: 0x20262b, depthTest: false, transparent: true});
    for (const [from, to] of pieces) {
      const rod = new Mesh(new CylinderGeometry(1, 1, Math.max(along.length() * (to - from), 0.2), 12), material);
      rod.position.copy(start).addScaledVector(along, (from + to) / 2);
      rod.quaternion.copy(turn);
      rod.renderOrder = 9;
      this.gap.add(rod);
    }
    this.label.textContent = finding.size;
  }

  look(target, toward, radius, fly) {
    const angle = Math.atan(Math.tan(this.camera.fov * Math.PI / 360) * Math.min(1, this.camera.aspect));
    const eye = target.clone().addScaledVector(toward, radius / Math.sin(angle));
    const from = {eye: this.camera.position.clone(), target: this.controls.target.clone()};
    cancelAnimationFrame(this.flight);
    const begun = performance.now();
    const step = () => {
      const at = performance.now();
      const part = fly && !STILL && this.pace < SLOW ? Math.min(1, (at - begun) / FLIGHT) : 1;
      const eased = part * part * (3 - 2 * part);
      this.camera.position.lerpVectors(from.eye, eye, eased);
      this.controls.target.lerpVectors(from.target, target, eased);
      this.flying = true;
      this.controls.update();
      this.flying = false;
      this.draw();
      if (part < 1) this.flight = requestAnimationFrame(step);
    };
    step();
  }

  turn(right, up) {
    const out = this.camera.position.clone().sub(this.controls.target);
    const side = new Vector3().crossVectors(this.up, out).normalize();
    const tilt = new Quaternion().setFromAxisAngle(side, -up);
    const tilted = out.clone().applyQuaternion(tilt);
    if (Math.abs(tilted.angleTo(this.up) - Math.PI / 2) < 1.5) out.copy(tilted);
    out.applyQuaternion(new Quaternion().setFromAxisAngle(this.up, right));
    this.camera.position.copy(this.controls.target).add(out);
    this.controls.update();
    this.draw();
  }

  zoom(factor) {
    const out = this.camera.position.clone().sub(this.controls.target).multiplyScalar(factor);
    this.camera.position.copy(this.controls.target).add(out);
    this.controls.update();
    this.draw();
  }

  // The name of the part under a place on the canvas, if there is one.
  partAt(x, y) {
    const box = this.canvas.getBoundingClientRect();
    const place = new Vector2((x - box.left) / box.width * 2 - 1, 1 - (y - box.top) / box.height * 2);
    const ray = new Raycaster();
    ray.setFromCamera(place, this.camera);
    const solid = this.parts.filter((mesh) => mesh.visible && mesh.material.opacity >= 1);
    const kept = (hit) => !this.cutting || this.plane.distanceToPoint(hit.point) >= 0;
    return ray.intersectObjects(solid, false).find(kept)?.object.userData.facts.name ?? "";
  }

  fit() {
    const {clientWidth: width, clientHeight: height} = this.stage;
    if (!width || !height) return;
    this.camera.aspect = width / height;
    this.camera.updateProjectionMatrix();
    this.renderer.setSize(width, height, false);
    this.draw();
  }

  draw() {
    const begun = performance.now();
    const distance = this.camera.position.distanceTo(this.controls.target);
    for (const rod of this.gap.children) rod.scale.set(distance / 420, 1, distance / 420);
    const side = new Vector3().setFromMatrixColumn(this.camera.matrixWorld, 0);
    this.lamp.position.copy(this.camera.position).addScaledVector(side, -distance * 0.4);
    this.lamp.position.addScaledVector(this.up, distance * 0.5);
    this.lamp.target.position.copy(this.controls.target);
    this.renderer.render(this.scene, this.camera);
    this.placeLabel();
    this.pace = performance.now() - begun;
    this.canvas.dataset.eye = this.camera.position.toArray().map((x) => x.toFixed(1)).join(" ");
  }

  placeLabel() {
    if (!this.finding) return;
    const place = new Vector3(...this.finding.middle).project(this.camera);
    this.label.style.left = `${(place.x + 1) / 2 * this.stage.clientWidth}px`;
    this.label.style.top = `${(1 - place.y) / 2 * this.stage.clientHeight}px`;
  }
}

function striped(shader, stripe) {
  shader.uniforms.stripe = stripe;
  shader.fragmentShader = "uniform vec3 stripe;\n" + shader.fragmentShader.replace(
    "#include <color_fragment>",
    "#include <color_fragment>\n  if (mod(gl_FragCoord.x + gl_FragCoord.y, 14.0) < 5.0) diffuseColor.rgb = stripe;");
}
