/* Turns the drawing of the frame. Without this script the drawing stands as it was made. */
(function () {
  "use strict";
  function turn(svg) {
    var box = svg.viewBox.baseVal, margin = +svg.dataset.margin;
    var centre = svg.dataset.centre.split(" ").map(Number);
    var home = { a: +svg.dataset.azimuth, e: +svg.dataset.elevation };
    var now = { a: home.a, e: home.e }, scale = 0, picked = null, waiting = false;
    function numbers(text) {
      return text.split(" ").map(function (p) {
        return p.split(",").map(function (c, i) { return c - centre[i]; });
      });
    }
    var tubes = Array.prototype.map.call(svg.querySelectorAll(".mb-tube"), function (line) {
      return { line: line, points: numbers(line.dataset.p) };
    });
    var balls = Array.prototype.map.call(svg.querySelectorAll(".mb-ball"), function (ball) {
      return { ball: ball, at: numbers(ball.dataset.p)[0], r: +ball.dataset.r };
    });
    var boxes = Array.prototype.map.call(svg.querySelectorAll(".mb-box"), function (line) {
      return { line: line, points: numbers(line.dataset.p) };
    });
    function draw() {
      waiting = false;
      var sa = Math.sin(now.a), ca = Math.cos(now.a), se = Math.sin(now.e), ce = Math.cos(now.e);
      function flat(p) {
        return [-sa * p[0] + ca * p[1], -se * (ca * p[0] + sa * p[1]) + ce * p[2]];
      }
      var wide = 0, tall = 0;
      var all = tubes.map(function (tube) {
        return tube.points.map(function (p) {
          var f = flat(p);
          wide = Math.max(wide, Math.abs(f[0]));
          tall = Math.max(tall, Math.abs(f[1]));
          return f;
        });
      });
      scale = Math.min((box.width / 2 - margin) / wide, (box.height / 2 - margin) / tall);
      function trace(line, flats) {
        line.setAttribute("points", flats.map(function (f) {
          return (box.width / 2 + scale * f[0]).toFixed(1) + "," + (box.height / 2 - scale * f[1]).toFixed(1);
        }).join(" "));
      }
      tubes.forEach(function (tube, i) { trace(tube.line, all[i]); });
      boxes.forEach(function (one) { trace(one.line, one.points.map(flat)); });
      balls.forEach(function (ball) {
        var f = flat(ball.at);
        ball.ball.setAttribute("cx", (box.width / 2 + scale * f[0]).toFixed(1));
        ball.ball.setAttribute("cy", (box.height / 2 - scale * f[1]).toFixed(1));
        ball.ball.setAttribute("r", (scale * ball.r).toFixed(1));
      });
    }
    function soon() {
      if (!waiting) { waiting = true; window.requestAnimationFrame(draw); }
    }
    function by(a, e) {
      now.a += a;
      now.e = Math.max(-Math.PI / 2, Math.min(Math.PI / 2, now.e + e));
      soon();
    }
    function look(a, e) { now = { a: a, e: e }; soon(); }
    var words = document.createElement("p");
    words.className = "mb-turn-says";
    words.setAttribute("role", "status");
    words.textContent = "Pick a tube to read its name.";
    function pick(tube) {
      if (picked) { picked.classList.remove("mb-picked"); }
      picked = tube;
      tube.classList.add("mb-picked");
      var link = document.createElement("a");
      link.href = "#" + tube.dataset.ref;
      link.textContent = tube.querySelector("title").textContent;
      words.replaceChildren(link);
    }
    function nearest(x, y) {
      var best = null, least = 14;
      tubes.forEach(function (tube) {
        var p = tube.line.points, m = svg.getScreenCTM();
        for (var i = 1; i < p.numberOfItems; i += 1) {
          var a = p.getItem(i - 1).matrixTransform(m), b = p.getItem(i).matrixTransform(m);
          var dx = b.x - a.x, dy = b.y - a.y, l = dx * dx + dy * dy;
          var t = l ? Math.max(0, Math.min(1, ((x - a.x) * dx + (y - a.y) * dy) / l)) : 0;
          var d = Math.hypot(x - a.x - t * dx, y - a.y - t * dy);
          if (d < least) { least = d; best = tube.line; }
        }
      });
      return best;
    }
    var from = null;
    svg.addEventListener("pointerdown", function (event) {
      from = { x: event.clientX, y: event.clientY, moved: 0 };
    });
    window.addEventListener("pointermove", function (event) {
      if (!from) { return; }
      var dx = event.clientX - from.x, dy = event.clientY - from.y;
      from.moved += Math.abs(dx) + Math.abs(dy);
      from.x = event.clientX;
      from.y = event.clientY;
      by(-dx * 0.01, event.pointerType === "mouse" ? dy * 0.006 : 0);
    });
    window.addEventListener("pointerup", function (event) {
      if (from && from.moved < 6) {
        var tube = nearest(event.clientX, event.clientY);
        if (tube) { pick(tube); }
      }
      from = null;
    });
    window.addEventListener("pointercancel", function () { from = null; });
    var step = Math.PI / 18, quarter = Math.PI / 2;
    var moves = {
      ArrowLeft: [step, 0], ArrowRight: [-step, 0], ArrowUp: [0, step], ArrowDown: [0, -step]
    };
    svg.setAttribute("tabindex", "0");
    svg.addEventListener("keydown", function (event) {
      var move = moves[event.key];
      if (move) { by(move[0], move[1]); event.preventDefault(); }
      if (event.key === "Home") { look(home.a, home.e); event.preventDefault(); }
    });
    var bar = document.createElement("div");
    bar.className = "mb-turn-bar";
    [
      ["Turn left", function () { by(step, 0); }], ["Turn right", function () { by(-step, 0); }],
      ["Tip up", function () { by(0, step); }], ["Tip down", function () { by(0, -step); }],
      ["From the left", function () { look(-quarter, 0); }],
      ["From the front", function () { look(Math.PI, 0); }],
      ["From above", function () { look(-quarter, quarter); }],
      ["First view", function () { look(home.a, home.e); }]
    ].forEach(function (one) {
      var button = document.createElement("button");
      button.type = "button";
      button.textContent = one[0];
      button.addEventListener("click", one[1]);
      bar.appendChild(button);
    });
    svg.parentNode.parentNode.insertBefore(bar, svg.parentNode.nextSibling);
    bar.parentNode.insertBefore(words, bar.nextSibling);
    window.addEventListener("beforeprint", function () { now = { a: home.a, e: home.e }; draw(); });
  }
  Array.prototype.forEach.call(document.querySelectorAll("svg.mb-turning"), turn);
}());
