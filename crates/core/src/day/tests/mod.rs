mod answers;
mod courses;
mod paths;
mod reading;
