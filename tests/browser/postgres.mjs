// A PostgreSQL server of a test's own: in a temporary folder, on a socket there, run by a user with few
// rights, and gone with the test.

import { execFileSync, spawn } from 'node:child_process';
import { chownSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { until } from './bench.mjs';

/** A user who owns nothing; a server refuses to run as administrator. */
const NOBODY = 65534;
const FEW_RIGHTS = process.getuid() === 0 ? [`--reuid=${NOBODY}`, `--regid=${NOBODY}`, '--clear-groups'] : [];

/** Where a program of PostgreSQL is: on the path, else the newest that Debian's packages installed. */
function program(name) {
  const debian = '/usr/lib/postgresql';
  const packaged = existsSync(debian) ? readdirSync(debian).sort().reverse().map((one) => join(debian, one, 'bin')) : [];
  const found = [...process.env.PATH.split(':'), ...packaged].map((folder) => join(folder, name)).find(existsSync);
  if (!found) throw new Error(`this test needs a PostgreSQL server: apt-get install postgresql (no ${name} found)`);
  return found;
}

export class Postgres {
  static async start() {
    const server = new Postgres();
    server.folder = mkdtempSync(join(tmpdir(), 'shop-'));
    if (FEW_RIGHTS.length) chownSync(server.folder, NOBODY, NOBODY);
    const data = join(server.folder, 'data');
    const asks = { cwd: server.folder, encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] };
    const init = ['--encoding=UTF8', '--locale=C', '--no-sync', '-U', 'admin', '--auth', 'trust', '-D', data];
    execFileSync('setpriv', [...FEW_RIGHTS, program('initdb'), ...init], asks);
    const settings = { listen_addresses: '', unix_socket_directories: server.folder, fsync: 'off' };
    const said = Object.entries(settings).flatMap(([name, value]) => ['-c', `${name}=${value}`]);
    // Whatever ends the test ends the server too.
    const held = [...FEW_RIGHTS, '--pdeathsig', 'QUIT', program('postgres'), '-D', data, ...said];
    server.running = spawn('setpriv', held, { cwd: server.folder, stdio: 'ignore' });
    await until(() => {
      try {
        return server.sql('postgres', 'select 1') !== '';
      } catch {
        return false;
      }
    }, 'the server');
    return server;
  }

  sql(database, statements) {
    const to = ['-h', this.folder, '-U', 'admin', '-d', database, '-X', '-q', '-A', '-t', '-v', 'ON_ERROR_STOP=1'];
    const asks = { encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] };
    return execFileSync(program('psql'), [...to, '-c', statements], asks);
  }

  url(role, database) {
    return `postgresql://${role}@${encodeURIComponent(this.folder)}/${database}`;
  }

  async stop() {
    const gone = new Promise((done) => this.running.once('exit', done));
    this.running.kill('SIGQUIT');
    await gone;
    rmSync(this.folder, { recursive: true, force: true });
  }
}
