export function startWork() {}
