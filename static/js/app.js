/* The phone app starts here. */

import { start } from "./views/start.js";

start();
