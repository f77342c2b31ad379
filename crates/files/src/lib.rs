//! Everything of Slipsheet that crosses the disk.
