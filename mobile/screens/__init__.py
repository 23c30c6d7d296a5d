"""The tablet's screens: bindings between what is drawn and what is known; decisions are made elsewhere."""
