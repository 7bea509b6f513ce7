mod map;
mod patching;
mod site;
mod waits;
