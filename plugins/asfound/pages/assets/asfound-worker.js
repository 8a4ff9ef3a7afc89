/* Search from a folder. A browser starts no worker on file://, so there the theme's search worker runs in a hidden
   frame of the same page instead. Loaded before the theme's own script; over HTTP it does nothing. */
(function () {
  "use strict";

  if (location.protocol !== "file:") { return; }

  /* Loads a classic script into a document; settles when it has run or failed. */
  function load(page, url) {
    return new Promise(function (done, failed) {
      var script = page.createElement("script");
      script.src = url;
      script.onload = done;
      script.onerror = failed;
      page.head.appendChild(script);
    });
  }

  /* As much of a Worker as the theme asks of one: messages both ways, and importScripts as a promise. */
  function FrameWorker(url) {
    var worker = new EventTarget();
    var frame = document.createElement("iframe");
    frame.hidden = true;
    frame.srcdoc = "<!doctype html><html lang=\"\"><title>Search</title></html>";
    var inner = new Promise(function (done) {
      frame.onload = function () {
        var room = frame.contentWindow;
        room.postMessage = function (data) {
          worker.dispatchEvent(new MessageEvent("message", { data: data }));
        };
        room.importScripts = function () {
          return Array.from(arguments).reduce(function (before, next) {
            return before.then(function () { return load(room.document, next); });
          }, Promise.resolve());
        };
        load(room.document, url).then(function () { done(room); });
      };
    });
    worker.postMessage = function (data) {
      inner.then(function (room) { room.dispatchEvent(new MessageEvent("message", { data: data })); });
    };
    document.body.appendChild(frame);
    return worker;
  }

  window.Worker = FrameWorker;
  window.IFrameWorker = FrameWorker;  /* the theme looks for this name to find its language files */
}());
