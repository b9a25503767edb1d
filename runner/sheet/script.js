(function () {
  var all = function (q) { return Array.prototype.slice.call(document.querySelectorAll(q)); };
  var lit = [];
  function on(e, c) { e.classList.add(c); lit.push([e, c]); }
  function off() { lit.forEach(function (x) { x[0].classList.remove(x[1]); }); lit = []; }
  function light(s) {
    off();
    all('[data-s="' + s + '"]').forEach(function (e) { on(e, 'lit-use'); });
    all('[data-def~="' + s + '"]').forEach(function (e) { on(e, 'lit-def'); });
  }
  function symbol(e) { return e.target.closest ? e.target.closest('[data-s]') : null; }
  document.documentElement.classList.add('js');
  document.addEventListener('mouseover', function (e) { var t = symbol(e); if (t) { light(t.getAttribute('data-s')); } });
  document.addEventListener('mouseout', function (e) { if (symbol(e)) { off(); } });
  document.addEventListener('focusin', function (e) {
    var row = e.target.closest ? e.target.closest('[data-def]') : null;
    off();
    if (row) { row.getAttribute('data-def').split(' ').forEach(function (s) { all('[data-s="' + s + '"]').forEach(function (x) { on(x, 'lit-use'); }); }); }
  });
  document.addEventListener('click', function (e) {
    var t = symbol(e);
    if (!t || e.target.closest('a,summary')) { return; }
    var def = document.querySelector('[data-def~="' + t.getAttribute('data-s') + '"]');
    if (def) { show(def); location.hash = def.id; }
  });
  function show(e) { for (var d = e.closest('details'); d; d = d.parentElement.closest('details')) { d.open = true; } }
  function arrive() { var e = document.getElementById(decodeURIComponent(location.hash.slice(1))); if (e) { show(e); e.scrollIntoView(); } }
  window.addEventListener('hashchange', arrive);
  if (location.hash) { arrive(); }
})();
