// An office page that follows the brakes: its parts marked `data-live` are fetched anew when something
// was done anywhere, and a word tells whether the page is still in step.

import { remember, renew } from "./fragment.js";
import { follow } from "./live.js";

const SETTLE_MS = 400;
const WORDS = { connecting: "connecting", live: "live", stale: "offline: not up to date", ended: "ended", restarted: "server restarted" };
const word = document.getElementById("line-word");

remember();
follow("/brake/live", {
  version: "",
  boot: "",
  onChanged: async () => {
    await new Promise((done) => { setTimeout(done, SETTLE_MS); });
    return (await renew()) !== null;
  },
  onState: (state) => {
    word.textContent = WORDS[state];
    word.className = `tag ${{ live: "good", stale: "care" }[state] ?? "idle"}`;
  },
});
