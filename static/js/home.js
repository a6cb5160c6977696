// The queue: it follows what happens elsewhere, and sends what this device still keeps.

import { remember, renew } from "./fragment.js";
import * as line from "./line.js";
import { follow } from "./live.js";
import * as queue from "./queue.js";
import "./panel.js";

remember();
queue.begin();
follow(`${document.body.dataset.brake}/live`, { version: "", boot: "", onChanged: async () => (await renew()) !== null, onState: line.become });
