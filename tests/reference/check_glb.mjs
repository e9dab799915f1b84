// Validates a glTF file with the Khronos validator (npm: gltf-validator, Apache-2.0) and prints its report as JSON.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
const require = createRequire(process.argv[3] + "/");
const validator = require("gltf-validator");
const report = await validator.validateBytes(new Uint8Array(readFileSync(process.argv[2])));
console.log(JSON.stringify(report));
