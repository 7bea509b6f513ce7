mod offers;
mod search;
