# Runs the throwaway database server in the folder $1 with the program $2 until no test process is
# left. Each of them holds `holders` shared; the system lets go of it when a process ends.
cd "$1" || exit 1
exec 8>alive
flock -n -x 8 || exit 1
exec 9<holders
"$2" -D "$1/data" -k "$1" -c listen_addresses= -c fsync=off -c synchronous_commit=off \
    -c full_page_writes=off -c max_connections=400 -c shared_buffers=64MB -c autovacuum=off \
    -c jit=off 8>&- 9<&- >log 2>&1 &
server=$!
while :; do
    flock -x 9
    flock -u 9
    sleep 3
    # Somebody who came in these seconds goes on using the server.
    flock -n -x 9 && break
done
kill -INT "$server"
wait "$server"
cd /
rm -rf "$1"
