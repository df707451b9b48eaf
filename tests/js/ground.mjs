/* Node 18 has the Web Crypto that browsers and later Nodes have, but not by its global name. */

import { webcrypto } from "node:crypto";

globalThis.crypto ??= webcrypto;
