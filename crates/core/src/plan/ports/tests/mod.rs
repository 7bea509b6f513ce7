mod map;
mod patching;
mod reach;
mod site;
mod waits;
